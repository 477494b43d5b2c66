// The entry that the answers make, in the fields that the server reads.
import { closedTold } from "./closed.js";
import { meteredTold } from "./metering.js";
import { say } from "./say.js";
import { readCode } from "./scans.js";

const CODES = new Set(["unit", "item", "free", "lot"]);

function lotsTold(known, told, name) {
  const rows = [];
  for (let n = 1; told[`${name}-${n}-lot`]; n += 1) {
    const code = readCode(told[`${name}-${n}-lot`]);
    const part = told[`${name}-${n}-lot-part`] ?? "";
    const unit = known.snapshot.parts.find((one) => one.number === (known.lots.get(code)?.part || part))?.unit ?? "g";
    rows.push({ lot: code, amount: `${told[`${name}-${n}-amount`] ?? ""} ${unit}`, part });
  }
  return rows;
}

function unitsTold(told, name) {
  const codes = [];
  for (let n = 1; told[`${name}-${n}`]; n += 1) codes.push(readCode(told[`${name}-${n}`]));
  return codes;
}

function one(piece, told) {
  const text = told[piece.name] ?? "";
  const value = CODES.has(piece.kind) ? readCode(text) : text;
  return { [piece.into]: piece.listed ? (value ? [value] : []) : value };
}

function sheet(piece, told) {
  const lines = piece.lines.map((line, index) => {
    const values = line.questions.map((question) => told[question.name] ?? "");
    const readings = values.every(Boolean) ? values : [];
    const why = line.questions.map((question) => told[`${question.name}-why`]).find(Boolean);
    const reason = readings.length ? "" : why ?? "cannot-reach";
    return { characteristic: line.characteristic, readings, gauge: told[`gauge-${index + 1}`] ?? "", reason };
  });
  return { lines };
}

function mixed(known, piece, told) {
  const on = told.scale ? { scale: told.scale } : {};
  const components = piece.mixes[told.mix].flatMap((component) => lotsTold(known, told, `component-${component.n}`)).map((lot) => ({ ...lot, ...on }));
  const again = Object.entries(told).filter(([name, value]) => value && /^component-.*-again$/.test(name)).map(([, value]) => value);
  return { mix: told.mix, components, scales: told.scale ? [told.scale] : [], again, ...(byAnother(told) ? { beside: true } : {}) };
}

// Whether another person read a typed mass, in place of a second reading.
const byAnother = (told) => Object.entries(told).some(([name, value]) => name.endsWith("-again") && !value);

function fields(known, piece, told) {
  if (closedTold[piece.piece]) return closedTold[piece.piece](known, piece, told);
  if (piece.piece === "one") return one(piece, told);
  if (piece.piece === "lots") return { [piece.into]: lotsTold(known, told, piece.name) };
  if (piece.piece === "units") return { [piece.into]: unitsTold(told, piece.name) };
  if (piece.piece === "bladders") return { bladders: unitsTold(told, "bladder") };
  if (piece.piece === "mix") return mixed(known, piece, told);
  if (piece.piece === "metered") return { ...meteredTold(known, piece, told, lotsTold), ...(byAnother(told) ? { beside: true } : {}) };
  if (piece.piece === "sheet") return sheet(piece, told);
  const rows = piece.questions.map(({ name, word, unit }) => ({ name: word, value: told[name] ?? "", unit: unit ?? "", reason: told[`${name}-why`] }));
  return { readings: rows.filter((row) => row.value || row.reason).map(({ reason, ...row }) => (row.value ? row : { ...row, reason })) };
}

// What is kept of a number outside its band while its unit waits to be measured again; nothing where none waits.
export function waitMade(task, answered, told) {
  const outside = answered.find((one) => one.wait_min && told[one.name] === "wait");
  if (!outside) return null;
  const number = answered.find((one) => `${one.name}-outside` === outside.name);
  const read = { reading: number.word, value: told[number.name], of: number.unit ?? "" };
  return { unit: task.on.code, operation: task.operation ?? "", minutes: outside.wait_min, ...read };
}

function needsSecond(told) {
  return byAnother(told) ? { needs_second: say("A typed mass that is read once is confirmed by another person.") } : {};
}

// The entry of a task, as a form hands it to the outbox.
export function entryMade(known, task, told, station) {
  const payload = { ...task.fixed, ...(task.at_station ? { station } : {}) };
  for (const piece of task.pieces) Object.assign(payload, fields(known, piece, told));
  const isDone = Object.entries(told).some(([name, value]) => name.endsWith("-stop") && value === "done");
  const keeps = Object.entries(told).some(([name, value]) => name.endsWith("-outside") && value === "keep");
  const seen = { ...task.seen, holds_at: known.as_of };
  // What is logged without a link has happened: the work does not wait for the server's gates.
  return { kind: task.kind, payload, seen, label: task.word, done: true, told_done: isDone, holds: keeps && task.kind !== "measure", keeps, ...needsSecond(told) };
}
