// Words of the floor in the language of whoever works here. A sentence is its own name: English where nothing else is known.
const PATIENCE_MS = 4_000; // the screen is drawn once they are there
let table = new Map();
let mark = ".";

// A whole sentence, with its named places filled: say("%(count)s wait here", { count: 3 }). A trade word in a place is said too.
export function say(sentence, told = {}) {
  const words = table.get(sentence) ?? sentence;
  return words.replace(/%\((\w+)\)s/g, (place, name) => (name in told ? spoken(word(String(told[name]))) : place)).replaceAll("%%", "%");
}

// A trade word as it is kept, in the language in use; what is on no list, such as a code or a name, as it stands. A
// capital at its head and a number at its end stay: "Bladder 2" is said by the word "bladder", "fibre or binder" by two.
export function word(text) {
  if (found(text)) return found(text);
  const [, stem, number] = text.match(/^(.+?)( \d+)$/s) ?? [];
  if (stem && found(stem)) return found(stem) + number;
  const words = text.split(" or ").map(found);
  return words.every(Boolean) ? words.join(` ${found("or")} `) : text;
}

const headed = (text, how) => text.slice(0, 1)[how]() + text.slice(1);

function found(text) {
  const small = table.get(headed(text, "toLowerCase"));
  return table.get(text) ?? (small ? headed(small, "toUpperCase") : "");
}

// What stands in the page already is said too: its texts, and what is read out of it.
export function sayPage(root) {
  const texts = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = texts.currentNode.data.trim();
    if (table.has(text)) texts.currentNode.data = table.get(text);
  }
  for (const one of root.querySelectorAll("[aria-label]")) one.setAttribute("aria-label", say(one.getAttribute("aria-label")));
  for (const one of root.querySelectorAll("template")) sayPage(one.content);
}

// A sentence that is said later, by its name.
export const noop = (sentence) => sentence;

// Numbers within words, with the decimal mark of the language. A code has no point in it.
export function spoken(text) {
  return mark === "." ? text : text.replace(/(?<![\w.])(\d+)\.(\d+)(?![\w.])/g, `$1${mark}$2`);
}

export const decimalMark = () => mark;

const MONTHS = {
  en: ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
  de: ["Jan", "Feb", "Mär", "Apr", "Mai", "Jun", "Jul", "Aug", "Sep", "Okt", "Nov", "Dez"],
  it: ["gen", "feb", "mar", "apr", "mag", "giu", "lug", "ago", "set", "ott", "nov", "dic"],
};

// A day without its year: "24 Nov", "24. Nov", "24 nov".
export function dayWords(day, month) {
  const language = document.documentElement.lang in MONTHS ? document.documentElement.lang : "en";
  return `${day}${language === "de" ? "." : ""} ${MONTHS[language][month - 1]}`;
}

// Take up a language; its words stand on the server and are kept with the shell.
export async function speak(language) {
  document.documentElement.lang = language;
  mark = language === "en" ? "." : ",";
  if (language === "en") {
    table = new Map();
    return;
  }
  try {
    const told = await (await fetch("/floor/words/", { signal: AbortSignal.timeout(PATIENCE_MS) })).json();
    table = new Map((told[language] ?? []).map((words, n) => [told.sentences[n], words]).filter(([, words]) => words));
  } catch {
    table = new Map(); // the words come with the next contact; until then the floor speaks English
  }
}
