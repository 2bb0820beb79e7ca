// Prints the test count of a run as its last line: `N passed, N failed`.
// A run that ended before its tests (lint, types, build) counts as one failure.
import { existsSync, readFileSync } from 'node:fs';

const [file, code] = process.argv.slice(2);
let passed = 0;
let failed = 0;
let skipped = 0;
if (existsSync(file)) {
  const report = JSON.parse(readFileSync(file, 'utf8'));
  passed = report.numPassedTests;
  failed = report.numFailedTests;
  skipped = report.numPendingTests + report.numTodoTests;
}
if (code !== '0' && failed === 0) failed = 1;
console.log(`${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`);
