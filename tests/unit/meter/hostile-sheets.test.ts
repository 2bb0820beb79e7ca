import { readIntervals } from '@duskbank/core/meter';
import { strToU8, zipSync } from 'fflate';
import { expect, test } from 'vitest';

/** A spreadsheet of one sheet with this inside, as far as it is looked at before the decoder. */
const sheetOf = (inside: string) =>
  zipSync({
    '[Content_Types].xml': strToU8('<Types/>'),
    'xl/workbook.xml': strToU8('<workbook/>'),
    'xl/worksheets/sheet1.xml': strToU8(`<worksheet><sheetData>${inside}</sheetData></worksheet>`),
  });

// The decoder makes each cell up to the farthest, and each row: a kilobyte would end the process, or keep it for minutes.
test.each([
  ['a cell nine letters to the right', '<row r="1"><c r="ZZZZZZZZZ1"><v>1</v></c></row>', 'far-cell'],
  ['a cell with blanks about its address', '<row r="1"><c r = "ZZZZ1"><v>1</v></c></row>', 'far-cell'],
  ['two million rows without an address', '<row/>'.repeat(2_000_000), 'many-rows'],
])('%s never comes to the decoder', async (_what, inside, why) => {
  let decoded = false;
  const { findings } = await readIntervals(sheetOf(inside), {}, () => {
    decoded = true;
    return [];
  });
  expect(decoded).toBe(false);
  expect(findings).toMatchObject([{ code: 'spreadsheet-unreadable', data: { why } }]);
});
