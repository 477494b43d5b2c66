// The canonical form of what is signed: JSON by RFC 8785, as the server works it out. Names are sorted by their UTF-16
// units and numbers written as ECMAScript does, which is what that standard asks for.
export function canonical(value) {
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map((one) => canonical(one ?? null)).join(",")}]`;
  const names = Object.keys(value).filter((name) => value[name] !== undefined).sort();
  return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(",")}}`;
}

// What is signed of an entry: all that is sent, but for what proves it and for how the server is to treat it.
export function signedText(sent) {
  const { signature, sitting, done, ...what } = sent;
  if (what.second) what.second = { by: what.second.by, signer: what.second.signer || undefined };
  return canonical(what);
}
