// Words of the floor in the language of whoever works here. A sentence is its own name: English where nothing else is known.
let table = {};
let mark = ".";

// A whole sentence, with its named places filled: say("%(count)s wait here", { count: 3 }).
export function say(sentence, told = {}) {
  const words = table[sentence] ?? sentence;
  return words.replace(/%\((\w+)\)s/g, (place, name) => (name in told ? spoken(String(told[name])) : place)).replaceAll("%%", "%");
}

// Numbers within words, with the decimal mark of the language. A code has no point in it.
export function spoken(text) {
  return mark === "." ? text : text.replace(/(?<![\w.])(\d+)\.(\d+)(?![\w.])/g, `$1${mark}$2`);
}

export const decimalMark = () => mark;

// Take up a language; its words stand on the server and are kept with the shell.
export async function speak(language) {
  document.documentElement.lang = language;
  mark = language === "en" ? "." : ",";
  if (language === "en") {
    table = {};
    return;
  }
  try {
    const answer = await fetch(`/floor/words/${language}/`);
    table = answer.ok ? (await answer.json()).catalog : {};
  } catch {
    table = {}; // the words come with the next contact; until then the floor speaks English
  }
}
