import { InputError } from '@duskbank/core/input';
import { readIntervals } from '@duskbank/core/meter';
import { gzipSync, zipSync } from 'fflate';
import { xlsx } from '../../../packages/cli/src/io/xlsx.ts';
import { PACKED, randomOf, wrongWith } from '../mutate-meter.mjs';
import { xlsxOf } from '../xlsx.ts';
import { type Fuzzer, type Try, unspeakable } from './fuzzer.ts';

const rows = Array.from({ length: 96 }, (_, i) => {
  const hour = String(Math.floor(i / 4)).padStart(2, '0');
  return [`2026-03-02 ${hour}:${String(15 * (i % 4)).padStart(2, '0')}`, (0.1 + (i % 7) / 50).toFixed(2)] as const;
});
const csv = Buffer.from(`start,import kWh\n${rows.map((row) => row.join(',')).join('\n')}\n`);
const sheet = xlsxOf([
  { name: 'Data', rows: [['start', 'import kWh'], ...rows.map(([at, kwh]) => [at, Number(kwh)])] },
]);
const when = { mtime: PACKED };
const whole: readonly (readonly [string, Uint8Array])[] = [
  ['a zip', zipSync({ 'home.csv': csv }, when)],
  ['a stored zip', zipSync({ 'home.csv': csv }, { level: 0, ...when })],
  ['a zip of two', zipSync({ 'home.csv': csv, 'read me.txt': Buffer.from('hello') }, when)],
  ['a gzip', gzipSync(csv, when)],
  ['a spreadsheet', sheet],
  ['a zip in a zip', zipSync({ 'inner.zip': zipSync({ 'home.csv': csv }, when) }, when)],
];

/** What the undamaged file says: a damaged one says the same, or nothing. */
const truthKwh = rows.reduce((sum, [, kwh]) => sum + Number(kwh), 0);

/** What is read of a try. */
export const readArchive = ({ files }: Try) => readIntervals(files['home.bin']!, { zone: 'Etc/UTC' }, xlsx);

/**
 * Archives and spreadsheets with bytes flipped, cut, added or overwritten. A damaged archive is refused or holds what it
 * held: its checksums say so.
 */
export const archives: Fuzzer = {
  name: 'archives',
  make(seed, n) {
    const random = randomOf(seed + n * 7919);
    const [name, bytes] = whole[Math.floor(random() * whole.length)]!;
    let damaged = Uint8Array.from(bytes);
    const at = () => Math.floor(random() * damaged.length);
    const kinds = ['flip', 'cut', 'grow', 'overwrite', 'doubled'] as const;
    const kind = kinds[Math.floor(random() * kinds.length)]!;
    if (kind === 'flip')
      for (let k = Math.floor(random() * 4); k >= 0; k--) damaged[at()]! ^= 1 << Math.floor(random() * 8);
    if (kind === 'cut') damaged = damaged.slice(0, at());
    if (kind === 'grow')
      damaged = Uint8Array.from([...damaged, ...Array.from({ length: 1 + at() }, () => random() * 256)]);
    if (kind === 'overwrite') damaged.fill(Math.floor(random() * 256), at(), at() + 8);
    if (kind === 'doubled') damaged = Uint8Array.from([...damaged, ...damaged]);
    return { name: `${name}, ${kind}`, files: { 'home.bin': damaged } };
  },
  async wrongWith(input) {
    const { name } = input;
    try {
      const result = await readArchive(input);
      const wrong = wrongWith(result) ?? unspeakable(result.findings.map(({ message }) => message).join('\n'));
      if (wrong !== undefined || result.series === undefined) return wrong;
      // A spreadsheet has no checksum that its reader looks at; a zip and a gzip do.
      const kwh = Array.from(result.series.importKwh ?? []).reduce((sum, value) => sum + value, 0);
      const doubts = result.findings.some(({ severity }) => severity !== 'note');
      return name.startsWith('a spreadsheet') || doubts || Math.abs(kwh - truthKwh) < 1e-9
        ? undefined
        : `${kwh} kWh where ${truthKwh} were packed, without a word`;
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return unspeakable(error.message);
    }
  },
};
