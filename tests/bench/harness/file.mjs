// Runs one bench file and prints its part of the table: `node --expose-gc file.mjs FILE OPTIONS CHECKOUT [CHECKOUT_BEFORE]`.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { measureLimits } from './limit.mjs';
import { measureLines } from './lines.mjs';
import { isWrong, textOf } from './table.mjs';

const [file, settings, checkout, checkoutBefore] = process.argv.slice(2);
const options = JSON.parse(settings);
const { groups } = await import(pathToFileURL(file).href);
const limits = measureLimits(options);

/** What a bench file is handed: the functions of core, and where core and the command line stand, for processes of their own. */
async function builtIn(folder) {
  const corePath = join(folder, 'packages/core/dist/index.js');
  return {
    core: await import(pathToFileURL(corePath).href),
    corePath,
    cliPath: join(folder, 'packages/cli/bin/duskbank.js'),
  };
}

const now = groups(await builtIn(checkout));
let before = checkoutBefore === undefined ? undefined : groups(await builtIn(checkoutBefore));
for (const { title, lines, leastRounds } of now) {
  console.log(`\n${title}`);
  let others;
  try {
    others = before?.next().value?.lines;
  } catch (error) {
    console.log(`    the version before can't run it: ${error.message}`.slice(0, 80));
    before = undefined;
  }
  const rows = measureLines(lines, others, { ...options, leastRounds });
  for (const row of rows) {
    for (const text of textOf(row, limits, checkoutBefore !== undefined)) console.log(text);
    if (isWrong(row)) process.exitCode = 1;
  }
}
