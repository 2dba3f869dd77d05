/** The picture as a file: what is seen, its names, and below it what it is, how it is drawn, the caution. */

const FACE = "system-ui, sans-serif";

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
 * Return the picture of a room as the address of a PNG.
 * @param {object} room the model with its canvas, labels and header; just drawn
 */
export function saved(room) {
  const { canvas, labels, header, view } = room;
  const [wide, high] = room.sizes();
  const times = canvas.width / wide;
  const sheet = document.createElement("canvas");
  const pen = sheet.getContext("2d");
  const said = header.views.find(({ key }) => key === view).said;
  const stale = header.stale ? [room.words.textContent] : [header.heights];
  pen.font = `15px ${FACE}`;
  const notes = [said, ...stale].flatMap((each) => folded(pen, each, wide - 32));
  pen.font = `13px ${FACE}`;
  const small = folded(pen, header.caution, wide - 32);
  const low = 20 + notes.length * 21 + small.length * 18 + 14;
  sheet.width = wide * times;
  sheet.height = (high + low) * times;
  pen.scale(times, times);
  pen.fillStyle = "#fffdf8";
  pen.fillRect(0, 0, wide, high + low);
  pen.drawImage(canvas, 0, 0, wide, high);
  for (const { at, to, box, rows, colour } of labels.shown) {
    for (const [style, thick] of [["#fffdf8", 4], ["#1b211f", 1.5]]) {
      pen.strokeStyle = style;
      pen.lineWidth = thick;
      pen.beginPath();
      pen.moveTo(...at);
      pen.lineTo(...to);
      pen.stroke();
    }
    const [left, top, right, bottom] = box;
    pen.fillStyle = "#fffdf8";
    pen.fillRect(left, top, right - left, bottom - top);
    pen.strokeRect(left, top, right - left, bottom - top);
    if (colour) {
      pen.fillStyle = colour;
      pen.fillRect(left + 8, (top + bottom) / 2 - 7, 14, 14);
      pen.strokeRect(left + 8, (top + bottom) / 2 - 7, 14, 14);
    }
    pen.fillStyle = "#1b211f";
    pen.font = `600 15px ${FACE}`;
    pen.textBaseline = "middle";
    pen.textAlign = colour ? "left" : "center";
    // As they are folded on the screen, where a name is longer than its label is wide.
    const lines = rows.flatMap((row) => folded(pen, row, right - left - (colour ? 36 : 8)));
    lines.forEach((row, k) => {
      const y = top + ((k + 0.5) * (bottom - top)) / lines.length;
      pen.fillText(row, colour ? left + 30 : (left + right) / 2, y, right - left - (colour ? 36 : 8));
    });
  }
  pen.textAlign = "left";
  pen.fillStyle = "#1b211f";
  let y = high + 24;
  for (const [font, rows, step] of [[`15px ${FACE}`, notes, 21], [`13px ${FACE}`, small, 18]]) {
    pen.font = font;
    for (const row of rows) {
      pen.fillText(row, 16, y);
      y += step;
    }
  }
  return sheet.toDataURL("image/png");
}
