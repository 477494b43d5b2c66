// The wide gauge of a band that is known on the tablet alone: the same places and markup as plant/pictures/gauge.py and
// templates/parts/gauge.html give, for a band with both limits.
import { say, spoken } from "./say.js";

const SVG = "http://www.w3.org/2000/svg";
const [WIDTH, BAND_PART, EDGE, TICKS] = [780, 0.56, 20, 16];

const tenth = (place) => Math.round(place * 10) / 10;

function roundStep(span) {
  const rough = span / TICKS;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].find((one) => one * power >= rough * 0.999) * power;
}

// Where jaws, ticks and aim stand, from the left. [px]
export function placesOf({ low, high, aimed }) {
  const [lower, upper] = [Number(low), Number(high)];
  const [from, to] = [(WIDTH * (1 - BAND_PART)) / 2, (WIDTH * (1 + BAND_PART)) / 2];
  const perUnit = (to - from) / (upper - lower || 1);
  const at = (value) => tenth(from + (value - lower) * perUnit);
  const [first, last] = [lower - (from - EDGE) / perUnit, lower + (WIDTH - EDGE - from) / perUnit];
  const step = roundStep(last - first);
  const [begin, end] = [Math.ceil(first / step - 1e-9), Math.floor(last / step + 1e-9)];
  const ticks = Array.from({ length: end - begin + 1 }, (_, n) => at((begin + n) * step));
  return { from, to, ticks, origin: lower, perUnit, aim: aimed ? at(Number(aimed)) : null };
}

function piece(name, attributes, text = "") {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.textContent = text;
  return element;
}

const under = (x, text, look = "") => piece("text", { x, y: 100, "text-anchor": "middle", class: look }, text);

export function drawGauge(band) {
  const { from, to, ticks, origin, perUnit, aim } = placesOf(band);
  const svg = piece("svg", { class: "gauge", viewBox: `0 0 ${WIDTH} 104`, role: "img", "aria-label": say("band %(band)s", { band: band.words }), "data-origin": origin, "data-start": from, "data-per-unit": perUnit });
  svg.append(piece("rect", { class: "jaws-band", x: from, y: 20, width: to - from, height: 50 }), piece("path", { class: "rule", d: "M20 70H760" }));
  svg.append(...ticks.map((tick) => piece("path", { class: "tick", d: `M${tick} 61V70` })));
  if (aim !== null) svg.append(piece("path", { class: "aim", d: `M${aim} 20V70` }));
  svg.append(piece("path", { class: "jaw", d: `M${from} 12m12 0h-12v66h12` }), under(from, spoken(band.low)));
  svg.append(piece("path", { class: "jaw", d: `M${to} 12m-12 0h12v66h-12` }), under(to, spoken(band.high)));
  if (aim !== null) svg.append(under(aim, say("aim %(aim)s", { aim: band.aimed }), "soft"));
  svg.append(piece("circle", { class: "dot", cx: -40, cy: 45, r: 15 }));
  return svg;
}
