// What a scanner types, brought to one form: the twin of plant/scans.py for the tablet without a link. One table of cases
// (tests/reference/identification/scans.json) drives both.
import { bracketedFields, gs1Fields, gtinsFit, linkFields } from "./gs1.js";
import { doubtOf, folded, isOtherLayout, layoutLost, misfit, runTogether, shown, standIn } from "./misreads.js";
import { say } from "./say.js";

const [GS, RS, EOT] = ["\x1d", "\x1e", "\x04"];
const HEADER = `[)>${RS}06${GS}`;
const LONGEST = 400;
const OF_GS1 = ["]d2", "]Q3", "]C1", "]e0"];
const CAPS_ON = ["]D2", "]q3", "]c1", "]E0"];
const BARE_GS1 = /^01\d{14}(?:1[0123567]|21).+$/s;
const capsOn = (read) => say("Capitals and small letters have changed places: %(read)s. Turn caps lock off at the scanner and the tablet, and scan it again.", { read });
const lost = (read) => say("The separators of this label were lost on the way: %(read)s. Set the scanner up to send them, or type the code that stands beside the symbol.", { read });
const stoodIn = (read, sign) => say("The separators of this label come as %(sign)s: %(read)s. Set the scanner up to send them as GS (sign 29), or type the code that stands beside the symbol.", { read, sign });
const unread = (read) => say("A field of this label can’t be read: %(read)s. Scan it again, or type the code that stands beside it.", { read });
const namesNothing = (read) => say("This symbol names no serial and no lot: %(read)s. Scan another.", { read });
const tooLong = (read) => say("This is longer than any label: %(read)s. Scan the label once more.", { read });
const noLinkOfOurs = (read) => say("This link names nothing of the house: %(read)s. Scan the label itself.", { read });
const misfits = (read) => say("The check digit of this symbol does not fit: %(read)s. Scan it again.", { read });
const twoNames = (read, [one, other]) => say("This symbol names two things, %(one)s and %(other)s: %(read)s. Type the code that stands beside it.", { read, one, other });

// A scan that can't be read for certain, with the sentence that says so.
export class NotRead extends Error {
  constructor(how, tell, body, more) {
    super(how);
    Object.assign(this, { how, words: tell(shown(body), more) });
  }
}

function theOne(named, body) {
  const codes = [...new Set(named.map((code) => code.trim().toUpperCase()))].sort();
  if (!codes.length) throw new NotRead("names-nothing", namesNothing, body);
  if (codes.length > 1) throw new NotRead("two-names", twoNames, body, codes);
  return codes[0];
}

function of15434(body) {
  if (!body.startsWith(HEADER)) {
    const sign = standIn(body);
    throw new NotRead("separator", sign ? stoodIn : lost, body, sign);
  }
  const fields = body.slice(HEADER.length).replace(/\x04+$/, "").replace(/\x1e+$/, "").split(GS).map((part) => {
    const match = /^(\d{0,3}[A-Z])(.+)$/s.exec(part);
    if (!match) throw /^\d{0,3}[a-z].+$/s.test(part) ? new NotRead("caps", capsOn, body) : new NotRead("field", unread, body);
    return [match[1], match[2]];
  });
  const of = (name) => fields.filter(([found]) => found === name).map(([, value]) => value);
  const copy = of("Z")[0] ?? "";
  const code = theOne(["S", "1T", "T"].flatMap(of), body);
  return { code, form: "15434", copy: /^\d+$/.test(copy) ? Number(copy) : null, doubt: null };
}

function ofMessage(fields, body, form, isOpen) {
  if (!gtinsFit(fields)) throw new NotRead("check-digit", misfits, body);
  const copy = fields.map(([ai, value]) => ai === "90" && /^L(\d{1,4})$/.exec(value)).find(Boolean);
  for (const names of [["21", "8004"], ["10"]]) {
    const named = fields.filter(([ai]) => names.includes(ai)).map(([, value]) => value);
    if (!named.length) continue;
    const [ai, value] = fields.at(-1);
    const doubt = isOpen && names.includes(ai) ? runTogether(value, body) : null;
    return { code: theOne(named, body), form, copy: copy ? Number(copy[1]) : null, doubt };
  }
  throw new NotRead("names-nothing", namesNothing, body);
}

function ofGs1(body) {
  const sign = standIn(body);
  if (sign) throw new NotRead("separator", stoodIn, body, sign);
  const isBracketed = body.startsWith("(");
  const fields = isBracketed ? bracketedFields(body) : gs1Fields(body);
  if (!fields) throw new NotRead("gs1", unread, body);
  return ofMessage(fields, body, "gs1", !isBracketed && !body.endsWith(GS));
}

function ofLink(body) {
  const fields = linkFields(body);
  if (!fields) throw new NotRead("link", noLinkOfOurs, body);
  return ofMessage(fields, body, "link", false);
}

// The code that a scanned or typed text names; throws NotRead for a symbol that can't be read for certain.
export function readScan(text) {
  const told = text.replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "");
  if (told.length > LONGEST) throw new NotRead("too-long", tooLong, told);
  if (isOtherLayout(told)) throw new NotRead("layout", layoutLost, told);
  const prefix = /^\][A-Za-z][0-9A-Za-z]/.exec(told)?.[0] ?? "";
  const body = told.slice(prefix.length);
  if (body.startsWith("[)>")) return of15434(body);
  if (/^https?:\/\//i.test(body)) return ofLink(body);
  if (CAPS_ON.includes(prefix)) throw new NotRead("caps", capsOn, told);
  if (body.startsWith("(") || OF_GS1.includes(prefix) || body.includes(GS) || BARE_GS1.test(body)) return ofGs1(body);
  return { code: body.trim().toUpperCase(), form: "plain", copy: null, doubt: doubtOf(body) };
}

// The code to look for, with dashes and noughts of the house put right; what can't be read stands as it came.
export function readCode(text) {
  try {
    return folded(readScan(text).code);
  } catch {
    return folded(text);
  }
}

// The code of a symbol that is certain; any other text as it came.
export function opened(text) {
  try {
    const scan = readScan(text);
    return scan.form === "plain" || scan.doubt ? text : scan.code;
  } catch {
    return text;
  }
}

// What is wrong with a scan of something that is not known here, {how, words}; nothing where the code stands for itself.
export function wrongWith(text) {
  try {
    const scan = readScan(text);
    return scan.doubt ?? misfit(scan.code);
  } catch (failure) {
    if (failure instanceof NotRead) return failure;
    throw failure;
  }
}

// Whether a text can't be read at all, known or not.
export function unreadable(text) {
  try {
    readScan(text);
    return null;
  } catch (failure) {
    if (failure instanceof NotRead) return failure;
    throw failure;
  }
}
