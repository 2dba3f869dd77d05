// Words beside a picture: folded to their room, and spread so that none lies on another.

export const LINE = 19; // pixels from one line of words to the next
export const LETTER = 8.6; // pixels of a letter, about

/** Fold words so that no line has more letters than there is room for. */
export function folded(words, most) {
  const lines = [];
  for (const word of words.split(" ")) {
    const last = lines.length - 1;
    if (last >= 0 && `${lines[last]} ${word}`.length <= most) lines[last] += ` ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** Spread labels so that none lies on another, in the order of their places. */
export function spread(labels, low, high) {
  labels.sort((one, other) => one.y - other.y);
  let foot = low;
  for (const each of labels) {
    each.top = Math.max(each.y - each.tall / 2, foot);
    foot = each.top + each.tall + 5;
  }
  let head = high;
  for (const each of [...labels].reverse()) {
    each.top = Math.min(each.top, head - each.tall);
    head = each.top - 5;
  }
}
