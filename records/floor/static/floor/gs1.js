// Fields of a GS1 message, of one with its identifiers in brackets, and of a Digital Link. Null for what is none.
import { KEYS, PATTERNS } from "./ais.js";

const GS = "\x1d";
const GTINS = ["01", "02", "03"];
const DATED = new Set(["11", "12", "13", "15", "16", "17"]);
const known = new Map(PATTERNS.flatMap(([body, ais]) => ais.split(" ").flatMap((run) => {
  const [from, to = from] = run.split("-");
  const count = Number(to) - Number(from) + 1;
  return Array.from({ length: count }, (_, n) => [String(Number(from) + n).padStart(from.length, "0"), body]);
})));

// A day of two figures each; day nought is the last of the month.
function isDay(value) {
  const [year, month, day] = [2000 + Number(value.slice(0, 2)), Number(value.slice(2, 4)), Number(value.slice(4, 6))];
  return month >= 1 && month <= 12 && day <= new Date(Date.UTC(year, month, 0)).getUTCDate();
}

function fieldAt(rest, isWhole = false) {
  const ai = [2, 3, 4].map((length) => rest.slice(0, length)).find((head) => known.has(head));
  const match = ai && new RegExp(`^${known.get(ai)}${isWhole ? "$" : ""}`).exec(rest.slice(ai.length));
  if (!match || (DATED.has(ai) && !isDay(match[0]))) return null;
  return [ai, match[0]];
}

export function gs1Fields(body) {
  const fields = [];
  for (let rest = body.replace(/^\x1d+/, "").trim(); rest; ) {
    const field = fieldAt(rest);
    if (!field) return null;
    fields.push(field);
    rest = rest.slice(field[0].length + field[1].length);
    while (rest.startsWith(GS)) rest = rest.slice(1);
  }
  return fields.length ? fields : null;
}

export function bracketedFields(body) {
  const told = [...body.replace(/\s+/g, "").matchAll(/\((\d+)\)([^(]+)/g)];
  const fields = told.map(([, ai, value]) => known.has(ai) && fieldAt(ai + value, true));
  return fields.length && fields.every(Boolean) ? fields : null;
}

function decoded(parts) {
  try {
    return parts.map(decodeURIComponent);
  } catch {
    return null;
  }
}

// Pairs of identifier and value behind the first key in the path, qualifiers in their order; what else is known of the query.
export function linkFields(body) {
  const address = URL.canParse(body) ? new URL(body) : null;
  const path = address?.pathname.split("/") ?? [];
  const from = path.findIndex((part) => Object.hasOwn(KEYS, part));
  const parts = from < 0 ? null : decoded(path.slice(from));
  if (!parts || parts.length % 2) return null;
  const [width, qualifiers] = KEYS[parts[0]];
  const pairs = [[parts[0], parts[1].padStart(width, "0")]];
  let due = qualifiers.split(" ");
  for (let n = 2; n < parts.length; n += 2) {
    if (!due.includes(parts[n])) return null;
    due = due.slice(due.indexOf(parts[n]) + 1);
    pairs.push([parts[n], parts[n + 1]]);
  }
  const besides = new Map([...address.searchParams].filter(([name, value]) => known.has(name) && value));
  const fields = [...pairs, ...besides].map(([ai, value]) => fieldAt(ai + value, true));
  return fields.every(Boolean) ? fields : null;
}

// Whether the check digit of each GTIN fits: from the right, weights 3, 1, 3, 1 ...
export function gtinsFit(fields) {
  return fields.filter(([ai]) => GTINS.includes(ai)).every(([, value]) => {
    const sum = [...value].reduceRight((total, digit, at) => total + Number(digit) * ((value.length - 1 - at) % 2 ? 3 : 1), 0);
    return sum % 10 === 0;
  });
}
