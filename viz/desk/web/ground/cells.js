/** Keys, paste and typing in the cells of a grid, as in a spreadsheet. */

const MOST_ROWS = 2000;

/** Let the cells of a grid be moved in and typed into. */
export function inCells(grid) {
  const { box } = grid;
  box.addEventListener("focusin", (event) => {
    const { cell } = event.target;
    if (!cell) return;
    if (grid.at.line !== cell.line || grid.at.column !== cell.at) {
      grid.at = { line: cell.line, column: cell.at, first: cell.at };
      event.target.select();
    }
    grid.window();
  });
  box.addEventListener("focusout", (event) => {
    const { cell } = event.target;
    if (cell) grid.typed(cell, event.target.value);
    if (!box.contains(event.relatedTarget)) requestAnimationFrame(() => grid.window());
  });
  box.addEventListener("keydown", (event) => keyed(grid, event));
  box.addEventListener("paste", (event) => pasted(grid, event));
}

function keyed(grid, event) {
  const input = event.target;
  const { cell } = input;
  if (!cell || event.isComposing || event.altKey || event.ctrlKey || event.metaKey) return;
  const { line, at } = cell;
  const go = (down, across, first) => {
    event.preventDefault();
    grid.typed(cell, input.value);
    moved(grid, line, down, across, first);
  };
  const columns = grid.sheet.columns.length;
  switch (event.key) {
    case "Enter":
      return go(event.shiftKey ? -1 : 1, grid.at.first);
    case "ArrowDown":
      return go(1, at);
    case "ArrowUp":
      return go(-1, at);
    case "PageDown":
      return go(8, at);
    case "PageUp":
      return go(-8, at);
    case "ArrowRight":
      return atEnd(input) && at + 1 < columns ? go(0, at + 1) : undefined;
    case "ArrowLeft":
      return atStart(input) && at > 0 ? go(0, at - 1) : undefined;
    case "Tab": {
      const next = at + (event.shiftKey ? -1 : 1);
      if (next >= columns) return go(1, 0, 0);
      if (next < 0) return go(-1, columns - 1, 0);
      return go(0, next, grid.at.first);
    }
    case "F2":
      event.preventDefault();
      return input.setSelectionRange(input.value.length, input.value.length);
    case "Escape":
      event.preventDefault();
      event.stopPropagation();
      if (input.value !== (line.cells[at] || "")) {
        input.value = line.cells[at] || "";
        return input.select();
      }
      return grid.addButton.focus();
    default:
      return undefined;
  }
}

function moved(grid, line, down, column, first) {
  const rows = grid.rows();
  const place = Math.max(0, Math.min(rows.length - 1, rows.indexOf(line) + down));
  grid.goTo(rows[place], Math.max(0, Math.min(grid.sheet.columns.length - 1, column)));
  if (first !== undefined) grid.at.first = first;
}

const whole = (input) => input.selectionStart === 0 && input.selectionEnd === input.value.length;
const atEnd = (input) => whole(input)
  || (input.selectionStart === input.selectionEnd && input.selectionEnd === input.value.length);
const atStart = (input) => whole(input)
  || (input.selectionStart === input.selectionEnd && input.selectionStart === 0);

/** Whether a text is a block of cells: several lines, tabs, or three cells with commas or more. */
function isBlock(text) {
  return /[\t\n]/.test(text.trim()) || (text.match(/[,;]/g) || []).length > 1;
}

async function pasted(grid, event) {
  const { cell } = event.target;
  const text = event.clipboardData.getData("text/plain");
  if (!cell || !isBlock(text)) return;
  event.preventDefault();
  const lines = text.split("\n").length;
  if (grid.rows().length + lines > MOST_ROWS) {
    grid.general = `${lines.toLocaleString("en")} rows are too many for a table: bring them in as `
      + "a file.";
    grid.window();
    return;
  }
  const columns = grid.sheet.columns.map((each) => each.reads);
  const told = { text, kind: grid.data.kind, columns, first: cell.at };
  const answer = await grid.desk.call("paste", told);
  grid.lay(cell.line, answer.rows);
  const rows = grid.rows();
  grid.goTo(rows[Math.min(rows.length - 1, rows.indexOf(cell.line) + answer.rows.length)], 0);
  grid.hint.textContent = answer.words;
}
