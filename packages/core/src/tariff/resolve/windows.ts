import { ALL_SEASONS, coverageIssues, hourRule } from '../hours.ts';
import type { WindowRule } from '../tariff.ts';
import { asList } from '../vocabulary.ts';
import { resolveBlocks } from './blocks.ts';
import type { Path } from './faults.ts';
import { seasonMask } from './seasons.ts';
import type { Element, Version, Windows } from './version.ts';

/** The tariff's own windows; one for all hours where it has none. */
export function ownWindows(version: Version): Windows {
  const { windows } = version.document;
  if (windows === undefined) {
    const always = { name: 'all hours', hours: hourRule({}, ALL_SEASONS) };
    return {
      rules: [{ ...always, kind: undefined, pricePerKwh: undefined, blocks: undefined }],
      names: [always.name],
      priced: false,
    };
  }
  const priced = windows.some((w) => w.pricePerKwh !== undefined || w.blocks !== undefined);
  const rules = resolveWindows(version, windows, version.pathOf('windows'), priced);
  return { rules, names: [...new Set(rules.map((w) => w.name))], priced };
}

/**
 * Windows that together hold each minute of each kind of day once.
 *
 * @param priced whether each has to bear a price
 */
export function resolveWindows(
  version: Version,
  windows: Element<'windows'>,
  path: Path,
  priced: boolean,
): WindowRule[] {
  const { faults } = version;
  const before = faults.issues.length;
  const resolved = windows.map((window, w): WindowRule => {
    const at = [...path, w];
    checkHours(version, window, at);
    if (window.otherwise !== undefined && (window.from !== undefined || window.to !== undefined))
      faults.add(
        'not-together',
        [...at, 'from'],
        window.from ?? window.to,
        'no hours beside "otherwise"',
        'remove "from" and "to", or "otherwise"',
      );
    if (window.pricePerKwh !== undefined && window.blocks !== undefined)
      faults.add(
        'not-together',
        [...at, 'blocks'],
        window.blocks,
        'either "pricePerKwh" or "blocks"',
        'remove one of them',
      );
    if (priced && window.pricePerKwh === undefined && window.blocks === undefined)
      faults.add('missing', [...at, 'pricePerKwh'], undefined, 'a price of a kWh in the window', 'add "pricePerKwh"');
    return {
      name: window.name,
      hours: hourRule(window, seasonMask(version, window.seasons, at)),
      kind: window.kind,
      pricePerKwh: window.pricePerKwh,
      blocks: window.blocks === undefined ? undefined : resolveBlocks(version, window.blocks, [...at, 'blocks']),
    };
  });
  // Wrong hours make gaps and overlaps of their own: tell those only once the hours are right.
  if (faults.issues.length === before)
    faults.issues.push(
      ...coverageIssues(
        resolved.map((w) => w.hours),
        resolved.map((w) => w.name),
        version.days,
        version.seasons.names,
        path,
        faults.file,
      ),
    );
  return resolved;
}

/** For each window of the tariff whether an element names it; undefined where it names none, and all count. */
export function selectWindows(
  version: Version,
  windows: Windows,
  names: string | readonly string[] | undefined,
  path: Path,
): readonly boolean[] | undefined {
  const list = asList(names);
  if (list.length === 0) return undefined;
  const known = version.document.windows === undefined ? [] : windows.names;
  for (const [k, name] of list.entries())
    if (!known.includes(name)) {
      const at = Array.isArray(names) ? [...path, 'inWindows', k] : [...path, 'inWindows'];
      version.faults.unknownName('unknown-window', at, name, known, 'window');
    }
  return windows.rules.map((w) => list.includes(w.name));
}

/** Faults of the hours that a window or a demand charge states. */
export function checkHours(
  version: Version,
  input: { from?: string | undefined; to?: string | undefined; days?: unknown; daysOf?: string | undefined },
  path: Path,
): void {
  const { faults, document } = version;
  if ((input.from === undefined) !== (input.to === undefined))
    faults.add(
      'missing',
      [...path, input.from === undefined ? 'from' : 'to'],
      undefined,
      'both "from" and "to", or neither',
      input.from === undefined ? 'add "from"' : 'add "to"',
    );
  if (input.from === '24:00')
    faults.add('out-of-range', [...path, 'from'], input.from, 'a beginning from "00:00" to "23:59"', 'write "00:00"');
  if ((document.holidays ?? []).length === 0 && asList(input.days as string | string[] | undefined).includes('holiday'))
    faults.add(
      'not-together',
      [...path, 'days'],
      input.days,
      '"holidays" in the tariff, where a window is for holidays',
      'add "holidays", such as ["us-six"]',
    );
}
