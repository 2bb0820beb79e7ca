import { readFileSync } from 'node:fs';
import { InputError } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { compare } from '@duskbank/core/study';

try {
  // The core reads no files: it asks for the bytes of each file that the site names.
  const { study } = await loadSite(process.argv[2] ?? 'fixtures/demo/site.json', (path) => readFileSync(path));
  const report = compare(study);
  console.log(`${report.currency} ${report.baseline.bill.total.toFixed(2)} without a battery`);
  for (const { strategy, savings, backupHours } of report.strategies)
    if (savings !== null && backupHours !== null)
      console.log(`${strategy} saves ${savings.toFixed(2)} and leaves ${backupHours.median.toFixed(1)} h of backup`);
} catch (error) {
  // What is wrong with the user's files, all of it at once.
  if (!(error instanceof InputError)) throw error;
  for (const { code, received, expected } of error.issues) console.log(`${code}: ${received}, not ${expected}`);
}
