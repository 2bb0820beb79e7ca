// What a program costs as a process of its own.
import { spawnSync } from 'node:child_process';

/** Milliseconds by the clock on the wall from start to end: a process of its own has processor time of its own. */
export function processMs(args) {
  const begun = performance.now();
  const { status, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  const ms = performance.now() - begun;
  if (status !== 0) throw new Error(`a process ended with ${status}: ${stderr.slice(0, 400)}`);
  return ms;
}

/** The most memory that it ever took, in MB. */
export function processPeakMb(args) {
  const atExit = `process.on('exit', () => process.stderr.write('\\npeak ' + process.resourceUsage().maxRSS + '\\n'));`;
  const { status, stderr } = spawnSync(
    process.execPath,
    ['--import', `data:text/javascript,${encodeURIComponent(atExit)}`, ...args],
    {
      encoding: 'utf8',
    },
  );
  const peakKb = Number(/\npeak (\d+)\n/.exec(stderr)?.[1]);
  if (status !== 0 || !(peakKb > 0)) throw new Error(`a process ended with ${status}: ${stderr.slice(0, 400)}`);
  return peakKb / 1024;
}
