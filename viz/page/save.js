// The picture that is saved carries what the page says beside it.
async function save() {
  label();
  const image = new Image();
  image.src = space.picture();
  await image.decode();
  const wide = box.clientWidth;
  const high = box.clientHeight;
  const ratio = Math.max(2, image.width / wide);
  const scene = here();
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d");
  const face = getComputedStyle(document.body).fontFamily;
  const fold = (words, size, width) => {
    pen.font = `${size}px ${face}`;
    const rows = [];
    for (const word of words.split(" ")) {
      const longer = rows.length ? rows[rows.length - 1] + " " + word : word;
      if (rows.length && pen.measureText(longer).width <= width) rows[rows.length - 1] = longer;
      else rows.push(word);
    }
    return rows;
  };
  const layers = scene.legend.map((each) => `${each.number}  ${each.name}, ${each.words}`);
  const notes = [...fold(scene.fall + " " + scene.heights[state.view], 15, wide - 32), "",
                 ...fold(plan.caution, 13, wide - 32)];
  const strip = plan.band ? 30 : 0;
  const top = 70 + strip;
  const bottom = 16 + layers.length * 24 + notes.length * 20 + 12;
  canvas.width = wide * ratio;
  canvas.height = (top + high + bottom) * ratio;
  pen.scale(ratio, ratio);
  pen.fillStyle = "#f4f1ea";
  pen.fillRect(0, 0, wide, top + high + bottom);
  pen.fillStyle = "#1f2b2a";
  pen.textBaseline = "middle";
  if (strip) {
    pen.fillStyle = "#8f1d1d";
    pen.fillRect(0, 0, wide, strip);
    pen.fillStyle = "#ffffff";
    pen.font = `bold 16px ${face}`;
    pen.fillText(plan.band, 16, strip / 2, wide - 32);
    pen.fillStyle = "#1f2b2a";
  }
  pen.font = `bold 24px ${face}`;
  pen.fillText(plan.site, 16, strip + 26, wide - 32);
  pen.font = `16px ${face}`;
  pen.fillText(scene.subtitle, 16, strip + 52, wide - 32);
  pen.save();
  pen.translate(0, top);
  pen.drawImage(image, 0, 0, wide, high);
  for (const [a, b, c, d, bare] of label.lines) {
    for (const [style, thick] of [["#fffdf8", 4], ["#2c3a39", 1.5]]) {
      pen.strokeStyle = style;
      pen.lineWidth = thick;
      pen.beginPath(); pen.moveTo(a, b); pen.lineTo(c, d); pen.stroke();
    }
    if (bare) continue;
    pen.fillStyle = "#1f2b2a";
    pen.beginPath(); pen.arc(a, b, 4.5, 0, 7); pen.fill();
  }
  for (const { item, spot } of label.shown) {
    const words = item.each.number && spot[2] - spot[0] < 40
      ? [String(item.each.number)]
      : ((item.each.number ? item.each.number + "  " : "") + item.each.text).split("\n");
    pen.fillStyle = "#fffdf8";
    pen.strokeStyle = "#2c3a39";
    pen.lineWidth = 1;
    pen.fillRect(spot[0], spot[1], spot[2] - spot[0], spot[3] - spot[1]);
    pen.strokeRect(spot[0], spot[1], spot[2] - spot[0], spot[3] - spot[1]);
    pen.fillStyle = "#1f2b2a";
    pen.textAlign = "center";
    pen.font = `${item.each.number ? "bold " : ""}14px ${face}`;
    words.forEach((row, i) => pen.fillText(row, (spot[0] + spot[2]) / 2,
      spot[1] + ((i + 0.5) * (spot[3] - spot[1])) / words.length, spot[2] - spot[0] - 6));
    pen.textAlign = "left";
  }
  for (const { name, x, y } of planAxes()) {
    const { x: x0, y: y0 } = axesRoom();
    pen.strokeStyle = pen.fillStyle = "#1f2b2a";
    pen.lineWidth = 2;
    pen.beginPath(); pen.moveTo(x0, y0); pen.lineTo(x0 + x, y0 + y); pen.stroke();
    pen.fillText(name, x0 + x * 1.3 - 4, y0 + y * 1.3);
  }
  pen.restore();
  let y = top + high + 22;
  scene.legend.forEach((each, i) => {
    pen.fillStyle = each.colour;
    pen.fillRect(16, y - 9, 18, 18);
    pen.strokeRect(16, y - 9, 18, 18);
    pen.fillStyle = "#1f2b2a";
    pen.font = `16px ${face}`;
    pen.fillText(layers[i], 44, y, wide - 60);
    y += 24;
  });
  for (const row of notes) {
    pen.font = `${row && plan.caution.includes(row) ? 13 : 15}px ${face}`;
    pen.fillText(row, 16, y + 4, wide - 32);
    y += 20;
  }
  const link = document.createElement("a");
  link.download = scene.file;
  link.href = canvas.toDataURL("image/png");
  window.savedPicture = link.href;
  link.click();
  say("The picture was saved with your downloads.");
}
