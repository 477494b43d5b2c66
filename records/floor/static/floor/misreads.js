// What a keyboard, a set-up or an eye makes of a code on its way: the rules of plant/misreads.py, for the time without a link.
import { say } from "./say.js";

const KINDS = "TW FT RT PF FB SP RB HB PT TK BN AD AH BD NS BL CP CU ML MS MD JG CT GA RC TB ST PB RN RP NC RL CN SH ES".split(" ");
const HOUSE = /^([A-Z]{2})-?(\d{2})-?(\d{1,6})-?(\d)$/;
const LAYOUTS = [
  { "ß": "-", Y: "Z", Z: "Y" }, // scanner US, tablet German
  { "'": "-" }, // scanner US, tablet Italian
  { "/": "-", Y: "Z", Z: "Y" }, // scanner German or Italian, tablet US
];
const HEADS = /^(?:[ÜÈ]=:|\+[DQCE][0-9]|8?\([>|]|HTTPS?(?:Ö--|Ç--|>&&))/;
const WITHIN = /[A-Z0-9]ß[A-Z0-9]|[A-Z]'[0-9]/;
const BLANKS = /[\s\u00ad\u200b-\u200f\u2060\ufeff]/g;
const DASHES = /[‐‑‒–—―−]/g;
const ALIKE = { O: "0", Q: "0", I: "1", L: "1", S: "5", Z: "2", B: "8" };
const TAIL = /^(?:(?:029)?(?:1[123567]\d\d(?:0[1-9]|1[0-2])(?:[0-2]\d|3[01])|3[07]\d{1,8}|310\d{7}))+$/;
const STAND_INS = ["|", "↔", "␝", "<GS>", "{GS}", "[GS]", "^]", "\\x1d", "\\u001d"];
const SHOWN_SIGNS = 60;

const doubt = (how, words) => ({ how, words });
export const layoutLost = (read) => say("The scanner’s keyboard layout looks wrong: %(read)s came. Scan the set-up test label, or type the code that stands beside the symbol.", { read });

// Check digit by ISO/IEC 7064 MOD 11,10, as plant/codes.py has it.
function checkDigit(digits) {
  let product = 10;
  for (const digit of digits) product = (2 * ((product + Number(digit)) % 10 || 10)) % 11;
  return String((11 - product) % 10);
}

// A code of the house with its dashes and noughts; null for any other text; false where the check digit does not fit.
function house(text) {
  const match = HOUSE.exec(text);
  if (!match || !KINDS.includes(match[1])) return null;
  const [, kind, year, number, check] = match;
  const body = year + number.padStart(6, "0");
  return checkDigit(body) === check ? `${kind}-${year}-${body.slice(2)}-${check}` : false;
}

// Capitals, but the sharp s stays one sign: it tells of a German keyboard.
const upper = (text) => [...text].map((sign) => (sign === "ß" ? sign : sign.toUpperCase())).join("");
const swapped = (text, signs) => [...text].map((sign) => signs[sign] ?? sign).join("");

// The code of the house that a text is for certain; empty for any other text.
export const certain = (text) => house(text.trim().toUpperCase()) || "";

// A code as it is compared: case and blanks folded, dashes and noughts of the house put right.
export function folded(text) {
  return certain(text) || text.trim().toUpperCase();
}

// A code of the house whose check digit does not fit.
export function misfit(text) {
  const code = text.trim().toUpperCase();
  return house(code) === false ? doubt("check-digit", say("No such code: %(code)s. The check digit does not fit. Look again, or type it.", { code })) : null;
}

export const isOtherLayout = (told) => HEADS.test(upper(told));

// A text with its control signs made visible, no longer than a line.
export function shown(body) {
  const seen = [...body].map((sign) => (/[\p{C}\p{Z}]/u.test(sign) && sign !== " " ? "·" : sign));
  return seen.length <= SHOWN_SIGNS ? seen.join("") : `${seen.slice(0, SHOWN_SIGNS - 1).join("")}…`;
}

// What a plain text may be instead; nothing where it stands for itself.
export function doubtOf(text) {
  const told = upper(text.trim());
  if (certain(told)) return null;
  const read = shown(told);
  const bare = told.replace(BLANKS, "").replace(DASHES, "-");
  if (certain(bare)) return doubt("blanks", say("There is a blank or a strange dash inside this code: %(read)s. If its label says %(due)s, type it so; else scan it again.", { read, due: certain(bare) }));
  for (const signs of LAYOUTS) {
    const due = certain(swapped(bare, signs));
    if (due) return doubt("layout", say("The scanner’s keyboard layout looks wrong: %(read)s came, the label may say %(due)s. Scan the set-up test label, or type the code that stands beside the symbol.", { read, due }));
  }
  if (isOtherLayout(told) || WITHIN.test(told)) return doubt("layout", layoutLost(read));
  const alike = certain(bare.slice(0, 2) + swapped(bare.slice(2), ALIKE));
  if (alike) return doubt("look-alike", say("%(read)s has signs that look like others; codes of the house have no letters O and I. If its label says %(due)s, type it so; else scan it.", { read, due: alike }));
  const runOn = /^(?:10|21)(.*[A-Z].*)$/s.exec(told);
  return runOn ? runTogether(runOn[1], told) : null;
}

// A lot or serial behind which other fields may hide, as no separator came.
export function runTogether(text, read = "") {
  const value = text.trim().toUpperCase();
  if (certain(value)) return null;
  for (let start = 1; start < value.length; start += 1) {
    if (!TAIL.test(value.slice(start))) continue;
    const [lot, rest] = [value.slice(0, start), value.slice(start).replace(/^029/, "")];
    return doubt("run-together", say("Two fields of this label may have run together: %(read)s. The label may say %(lot)s and %(rest)s, or %(whole)s. Scan it once more, or type what stands on it.", { read: shown(read || value), lot, rest, whole: value }));
  }
  return null;
}

// What came in place of a separator: a sign that no field holds, or nothing.
export const standIn = (body) => STAND_INS.find((sign) => body.includes(sign)) ?? "";
