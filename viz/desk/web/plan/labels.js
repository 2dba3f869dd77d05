// Words beside marks on the plan, none over another: each takes the first of its places that is free.

/**
 * @typedef {{key: string, at: [number, number], words: string[], kind: string, rank: number,
 *   away?: [number, number], span?: [number, number][], slides?: boolean, near?: boolean,
 *   must?: boolean, gap?: number}} Label
 *   `at` on the screen; the lower its rank, the sooner it is placed. `away` is the side that is
 *   tried first; one that has a `span` stays on that side of it, or is left out; one that `slides`
 *   goes along the side; one that is `near` is left out where it has no room close by; one that
 *   must be there is placed even where it has none of its own.
 */

const SIDES = [[0, -1], [1, 0], [-1, 0], [0, 1], [1, -1], [-1, -1], [1, 1], [-1, 1]];

/** Return labels with their boxes, those left out that have no room.
 *  @param {Label[]} labels
 *  @param {(words: string, kind: string) => number} wide how wide words are, in pixels
 *  @param {[number, number, number, number][]} taken boxes that words must not cross
 *  @param {[number, number]} frame how wide and high the picture is */
export function placed(labels, wide, taken, frame) {
  const boxes = [...taken];
  const found = [];
  for (const label of [...labels].sort((a, b) => a.rank - b.rank)) {
    const size = [
      Math.max(...label.words.map((row) => wide(row, label.kind))) + 6,
      label.words.length * LINE + 4,
    ];
    const places = boxesRound(label, size);
    const box =
      places.find((each) => inside(each, frame) && !boxes.some((other) => over(each, other))) ??
      (label.must ? places.find((each) => inside(each, frame)) : undefined);
    if (!box) continue;
    boxes.push(box);
    found.push({ ...label, at: box.of ?? label.at, box });
  }
  return found;
}

/** Pixels from one line of a label to the next. */
export const LINE = 18;

function boxesRound(label, [w, h]) {
  const gap = label.gap ?? 14;
  const places = [];
  const put = ([x, y], [dx, dy], far, aside = 0) => {
    const cx = x + dx * (gap * far + (Math.abs(dx) > 0.3 ? w / 2 : 0)) - dy * aside * w;
    const cy = y + dy * (gap * far + h / 2) + dx * aside * w;
    places.push(Object.assign([cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2], { of: [x, y] }));
  };
  if (label.gap === 0) {
    const [x, y] = label.at;
    places.push([x - w / 2, y - h / 2, x + w / 2, y + h / 2]);
  }
  if (label.span) {
    // On its own side of a line first, and along that.
    const [a, b] = label.span;
    for (const far of [1, 1.7, 2.6]) {
      for (const share of [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92]) {
        put([a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])], label.away, far);
      }
    }
    return places;
  }
  for (const far of label.away ? [1, 1.7, 2.6, 3.8] : []) {
    for (const aside of label.slides ? [0, 0.6, -0.6] : [0]) put(label.at, label.away, far, aside);
    if (!label.slides) break;
  }
  for (const far of label.near ? [1, 1.6] : [1, 1.6, 2.6, 4]) {
    for (const side of label.away ? [label.away, ...SIDES] : SIDES) put(label.at, side, far);
  }
  return places;
}

const over = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

const inside = (box, [w, h]) => box[0] >= 2 && box[1] >= 2 && box[2] <= w - 2 && box[3] <= h - 2;
