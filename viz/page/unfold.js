// The arrays of the scene are written as steps down their columns; the viewer wants the numbers.
window.unfolded = function (index) {
  for (const each of Object.values(index.hashes)) {
    const { columns, fine, steps } = each;
    const rows = steps.length / columns;
    const values = each.type === "Float32Array"
      ? new Float32Array(steps.length) : new Int32Array(steps.length);
    for (let column = 0; column < columns; column++) {
      let value = 0;
      for (let row = 0; row < rows; row++) {
        value += steps[column * rows + row];
        values[row * columns + column] = value / fine;
      }
    }
    each.content = values.buffer;
    delete each.steps;
  }
  return index;
};
