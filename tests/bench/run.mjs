// Runs every benchmark here, one after the other, each in a process of its own.
import { spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const own = fileURLToPath(import.meta.url);
const folder = new URL('.', import.meta.url);
const wanted = process.argv.slice(2);
let failed = 0;
for (const name of readdirSync(folder).sort()) {
  const file = fileURLToPath(new URL(name, folder));
  if (!name.endsWith('.mjs') || file === own) continue;
  if (wanted.length > 0 && !wanted.includes(name.replace('.mjs', ''))) continue;
  console.log(`\n${name.replace('.mjs', '')}`);
  const { status } = spawnSync(process.execPath, ['--expose-gc', file], { stdio: 'inherit' });
  if (status !== 0) failed++;
}
process.exitCode = failed === 0 ? 0 : 1;
