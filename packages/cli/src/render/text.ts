/** Width that every text output keeps to. */
export const WIDTH = 80;

/** Breaks text into lines of at most `width` characters, between words; later lines begin with `indent`. Leading spaces stay. */
export function wrap(text: string, width = WIDTH, indent = ''): string {
  const lines: string[] = [];
  const words = text.trimStart().split(' ');
  let line = text.slice(0, text.length - text.trimStart().length) + words[0]!;
  for (const word of words.slice(1)) {
    if (line.length + 1 + word.length <= width) line += ` ${word}`;
    else {
      lines.push(line.trimEnd());
      line = indent + word;
    }
  }
  lines.push(line);
  return lines.join('\n');
}

/** A name cut to what its column holds. */
export function shortened(name: string, width: number): string {
  return name.length <= width ? name : `${name.slice(0, width - 1)}…`;
}

/** A column of a table: its head (one or two lines) and how its cells stand. */
export interface Column {
  readonly head: string;
  readonly align?: 'left' | 'right';
}

/** Rows under heads, two spaces between columns, a rule under the heads. */
export function table(columns: readonly Column[], rows: readonly (readonly string[])[]): string {
  const heads = columns.map((column) => column.head.split('\n'));
  const headLines = Math.max(...heads.map((lines) => lines.length));
  const widths = columns.map((_, c) =>
    Math.max(...heads[c]!.map((line) => line.length), ...rows.map((row) => (row[c] ?? '').length)),
  );
  const put = (cells: readonly string[]) =>
    cells
      .map((cell, c) => (columns[c]!.align === 'right' ? cell.padStart(widths[c]!) : cell.padEnd(widths[c]!)))
      .join('  ')
      .trimEnd();
  const lines: string[] = [];
  for (let h = 0; h < headLines; h++) lines.push(put(heads.map((head) => head[h - headLines + head.length] ?? '')));
  lines.push(widths.map((width) => '─'.repeat(width)).join('  '));
  for (const row of rows) lines.push(put(row));
  return lines.join('\n');
}
