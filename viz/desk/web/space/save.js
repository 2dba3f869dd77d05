/** The picture as a file: what is seen, its names, and around it what it is, how it is drawn, the caution. */

const FACE = 'system-ui, "Segoe UI", Roboto, "DejaVu Sans", sans-serif';
const [PAPER, INK] = ["#fffdf8", "#1b211f"];

/** Words folded to a width. */
function folded(pen, words, wide) {
  const rows = [""];
  for (const word of words.split(" ")) {
    const longer = rows[rows.length - 1] ? `${rows[rows.length - 1]} ${word}` : word;
    if (pen.measureText(longer).width > wide && rows[rows.length - 1]) rows.push(word);
    else rows[rows.length - 1] = longer;
  }
  return rows;
}

/**
 * Return a picture as the address of a PNG.
 * @param {import("./space.js").Space} space just drawn
 * @param {import("./labels.js").Labels} labels as they stand on it
 * @param {{band?: string, title?: string, under?: string, legend?: object[], notes: string[],
 *   caution: string}} told
 *   what stands over the picture, and below it
 */
export function saved({ canvas, wide, high }, { shown, arrows }, told) {
  const times = Math.max(2, canvas.width / wide);
  const sheet = document.createElement("canvas");
  const pen = sheet.getContext("2d");
  const set = (size, weight = "") => { pen.font = `${weight} ${size}px ${FACE}`; };
  const rows = []; // of what stands around the picture: [y, size, weight, words, colour of a swatch]
  let low = 0;
  const write = (words, size, weight = "", colour) => {
    set(size, weight);
    for (const row of colour ? [words] : folded(pen, words, wide - 32)) {
      rows.push([low + size, size, weight, row, colour]);
      low += Math.round(size * 1.4) + (colour ? 3 : 0);
    }
  };
  const strip = told.band ? 30 : 0;
  low = strip + 8;
  if (told.title) write(told.title, 24, "bold");
  if (told.under) write(told.under, 16);
  const top = told.title ? low + 6 : strip;
  low = top + high + 14;
  for (const { number, words, colour } of told.legend ?? []) write(`${number}  ${words}`, 16, "", colour);
  for (const words of told.notes) write(words, 15);
  low += 6;
  write(told.caution, 13);
  sheet.width = wide * times;
  sheet.height = (low + 10) * times;
  pen.scale(times, times);
  pen.fillStyle = PAPER;
  pen.fillRect(0, 0, wide, low + 10);
  pen.textBaseline = "middle";
  pen.fillStyle = "#8f1d1d";
  pen.fillRect(0, 0, wide, strip);
  pen.fillStyle = "#ffffff";
  set(16, "bold");
  pen.fillText(told.band ?? "", 16, strip / 2, wide - 32);
  pen.strokeStyle = INK;
  const filled = (colour, left, up, across, tall) => {
    pen.fillStyle = colour;
    pen.fillRect(left, up, across, tall);
    pen.strokeRect(left, up, across, tall);
    pen.fillStyle = INK;
  };
  for (const [y, size, weight, words, colour] of rows) {
    if (colour) filled(colour, 16, y - 9, 18, 18);
    pen.fillStyle = INK;
    set(size, weight);
    pen.fillText(words, colour ? 44 : 16, y, wide - 32);
  }
  pen.translate(0, top);
  pen.drawImage(canvas, 0, 0, wide, high);
  const stroke = (line) => {
    for (const [style, thick] of [[PAPER, 4], [INK, 1.5]]) {
      pen.strokeStyle = style;
      pen.lineWidth = thick;
      pen.beginPath();
      for (const point of line) pen.lineTo(...point);
      pen.stroke();
    }
  };
  pen.textAlign = "center";
  for (const { line, head, words, at } of arrows) {
    stroke(line);
    pen.fillStyle = INK;
    pen.beginPath();
    for (const point of head) pen.lineTo(...point);
    pen.fill();
    set(14);
    pen.fillText(words, ...at);
  }
  for (const { line } of shown) {
    stroke(line);
    pen.fillStyle = INK;
    pen.beginPath();
    pen.arc(...line[0], 4, 0, 7);
    pen.fill();
  }
  for (const { box: [left, up, right, below], rows: said, number, colour } of shown) {
    filled(PAPER, left, up, right - left, below - up);
    const middle = (up + below) / 2;
    set(15, "600");
    const told = [number, said[0]].filter(Boolean).join("  ");
    if (colour) filled(colour, left + 8, middle - 7, 14, 14);
    // As they are folded on the screen, where a name is longer than its label is wide.
    const room = right - left - (colour ? 36 : 8);
    const lines = [told, ...said.slice(1)].flatMap((row) => folded(pen, row, room));
    lines.forEach((row, k) => {
      const y = up + ((k + 0.5) * (below - up)) / lines.length;
      pen.fillText(row, (left + right + (colour ? 22 : 0)) / 2, y, room);
    });
  }
  return sheet.toDataURL("image/png");
}
