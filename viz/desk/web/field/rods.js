// Rods by sums: a reading as it stands on a rod, a level from the line of sight, a shot held against
// its level. The same sums as the desk's, in metres, so that a phone without a laptop tells the same
// figures; what is rounded, to what and how far off is too far comes with the data. Nothing is drawn.

/** Rounded to decimals as Python rounds: what lies at a half by its own digits goes to the even. */
export function fixed(value, decimals) {
  const told = value.toFixed(decimals);
  const twice = value * 2 ** (decimals + 1);
  if (!Number.isInteger(twice) || twice % 2 === 0) return told;
  const last = told.slice(-1);
  if (Number(last) % 2 === 0) return told;
  return told.slice(0, -1) + String(Number(last) - 1);
}

/** The greatest whole number that two share. */
function shared(one, other) {
  return other === 0 ? one : shared(other, one % other);
}

/** Whole inches and their fraction in lowest terms: 3 1/2. */
function mixed(parts, denominator) {
  const whole = Math.floor(parts / denominator);
  const top = parts % denominator;
  if (top === 0) return String(whole);
  const by = shared(top, denominator);
  const fraction = `${top / by}/${denominator / by}`;
  return whole ? `${whole} ${fraction}` : fraction;
}

/** A length [m] in feet and inches to the nearest part of an inch: 5' 3 1/2". */
export function feetInches(data, metres, denominator = 16) {
  const parts = Math.floor((Math.abs(metres) / data.inch) * denominator + 0.5);
  const feet = Math.floor(parts / (12 * denominator));
  const rest = parts % (12 * denominator);
  const whole = Math.floor(rest / denominator);
  const top = rest % denominator;
  const minus = metres < 0 && parts ? "-" : "";
  return `${minus}${feet}' ${whole}${top ? ` ${mixed(top, denominator)}` : ""}"`;
}

/** A thickness or gap [m] as a crew says it: 9 3/8 in, 238 mm. */
export function sizeText(data, metres) {
  if (data.unit === "m") {
    const whole = Math.floor(Math.abs(metres) * 1000 + 0.5);
    return `${metres < 0 && whole ? "-" : ""}${whole} mm`;
  }
  const parts = Math.floor((Math.abs(metres) / data.inch) * 16 + 0.5);
  return `${metres < 0 && parts ? "-" : ""}${mixed(parts, 16)} in`;
}

/** A level [m] in the unit of the site. */
export function levelText(data, metres) {
  if (data.unit === "ft") return feetInches(data, metres);
  const told = fixed(metres, 3);
  return `${Number(told) === 0 ? fixed(0, 3) : told} m`;
}

/** What a rod of these marks is marked in. */
export function marksOf(data, name) {
  return data.marks.find((each) => each.name === name);
}

/** A reading [m] as it stands on a rod, to the nearest of what is read on it. */
export function rodText(data, metres, marks) {
  const { metres: factor, decimals, step } = marksOf(data, marks);
  const told = Math.floor(metres / step + 0.5 + data.rounding) * step;
  if (marks === "ft-in") return feetInches(data, told, Math.max(Math.round(data.inch / step), 1));
  return fixed(told / factor + 0, decimals);
}

/** A reading [m] with what it is in, where its figures do not say so themselves. */
export function rodWords(data, metres, marks) {
  const told = rodText(data, metres, marks);
  return marks === "ft-in" ? told : `${told} ${marks}`;
}

const PARTED = /^(\d{1,2})\s*(?:'|′|’|ft\b\.?|feet\b)\s*[-,]?\s*(.*?)\s*(?:"|″|”|''|in\b\.?)?$/;
const SPACED = /^(\d{1,2})[\s-]+(\d{1,2}(?:\.\d+)?|\d{1,2}\s+\d{1,2}\/\d{1,2})$/;
const ALONE = /^()(\d{1,3}(?:\.\d+)?|(?:\d{1,3}\s+)?\d{1,2}\/\d{1,2})\s*(?:"|″|”|in\b\.?)$/;
const INCHES = /^(?:(\d{1,3}(?:\.\d*)?)|(?:(\d{1,3})[\s-]+)?(\d{1,2})\/(\d{1,2}))$/;

/**
 * What a rod said: {metres, and of feet and inches feet, inches, parts: sixteenths or null, booked};
 * null where it is no reading.
 */
export function readRod(data, text, marks) {
  const plain = text.trim().replace(/[⁄∕]/g, "/");
  if (marks !== "ft-in") {
    if (!/^(?:\d+\.?\d*|\.\d+)$/.test(plain)) return null;
    return { metres: Number(plain) * marksOf(data, marks).metres };
  }
  const two = PARTED.exec(plain) ?? SPACED.exec(plain);
  const match = two ?? ALONE.exec(plain);
  if (!match) return null;
  const told = match[2] === "" ? 0 : inchesOf(match[2]);
  if (told === null || (two && told >= 12)) return null;
  const feet = two ? Number(match[1]) : Math.floor(told / 12);
  const inches = two ? told : told % 12;
  const parts = (inches % 1) * 16;
  return {
    metres: (feet * 12 + inches) * data.inch,
    feet,
    inches: Math.floor(inches),
    parts: Number.isInteger(parts) ? parts : null,
    booked: `${feet} ${bookedInches(inches)}`,
  };
}

/** Inches as a level book has them: in 64ths where that is what they are, else in decimals. */
function bookedInches(inches) {
  const parts = inches * 64;
  if (!Number.isInteger(parts)) return String(inches);
  return mixed(parts, 64).replace(/^(\d+\/)/, "0 $1");
}

function inchesOf(text) {
  const match = INCHES.exec(text.trim());
  if (!match) return null;
  if (match[1] !== undefined) return Number(match[1]);
  const [top, bottom] = [Number(match[3]), Number(match[4])];
  if (bottom === 0 || (match[2] !== undefined && top >= bottom)) return null;
  return Number(match[2] ?? 0) + top / bottom;
}

/** A reading as a level book has it, without marks of feet and inches: 4 2 1/8, or 1.298. */
export function bookText(data, text, marks) {
  return marks === "ft-in" ? readRod(data, text, marks).booked : text.trim();
}

/** The height of the line of sight [m]: the benchmark, and what the rod reads on it. */
export function sightOf(data, setup) {
  return setup.z + readRod(data, setup.reading, setup.marks).metres;
}

/** What a rod reads [m] that is held at a level. */
export function rodAt(height, z) {
  return height - z;
}

/** How a shot lies to its level: {z, off [m], standing: leave, high, low or again}. */
export function judged(data, layer, wanted, height, metres) {
  const z = height - metres;
  const off = z - wanted;
  const away = Math.abs(off);
  let standing = off > 0 ? "high" : "low";
  if (away <= layer.tolerance + data.rounding) standing = "leave";
  if (away >= data.again.limit - data.rounding) standing = "again";
  return { z, off, standing };
}

/** A sentence with what stands in its braces put in. */
export function filled(sentence, told) {
  return sentence.replace(/\{(\w+)\}/g, (whole, name) => (name in told ? told[name] : whole));
}

/** How far off a shot is, in words: 1/2 in low, or as designed. */
export function offText(data, off) {
  const size = sizeText(data, Math.abs(off));
  if (size === sizeText(data, 0)) return data.verdict.none;
  return filled(data.verdict[off > 0 ? "high" : "low"], { size });
}

/** What is said of a shot: {title, words, sign}; the sign is a shape, so that no colour says it alone. */
export function verdictOf(data, layer, found) {
  const size = sizeText(data, Math.abs(found.off));
  if (found.standing === "again") {
    const feet = Math.round(Math.abs(found.off) / data.foot);
    const whole = feet > 0 && Math.abs(Math.abs(found.off) - feet * data.foot) <= layer.tolerance;
    const words = data.unit === "ft" && whole ? data.verdict.foot : data.verdict.other;
    return { title: data.verdict.again, words: filled(words, { size }), sign: "?" };
  }
  const title = offText(data, found.off);
  if (found.standing === "leave") {
    return { title, words: filled(data.verdict.leave, { limit: layer.within }), sign: "●" };
  }
  const sign = found.standing === "high" ? "▲" : "▼";
  return { title, words: layer.beyond[found.standing], sign };
}
