// Until when, and how much more, a lot is used that was released at risk, by what the tablet took along.
import { say } from "./say.js";
import { when } from "./screens.js";

export function riskWords(lot) {
  if (!lot?.risk) return "";
  const told = { code: lot.code, until: when(lot.risk.until), left: lot.risk.left };
  return told.left ? say("%(code)s is released at risk until %(until)s, for %(left)s more.", told) : say("%(code)s is released at risk until %(until)s.", told);
}
