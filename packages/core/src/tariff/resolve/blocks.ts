import type { Block } from '../tariff.ts';
import type { Path } from './faults.ts';
import type { Element, Version } from './version.ts';

/** Blocks of energy: rising upper ends of one kind, none in the last. */
export function resolveBlocks(
  version: Version,
  blocks: NonNullable<Element<'windows'>[number]['blocks']>,
  path: Path,
): Block[] {
  const { faults } = version;
  const resolved = blocks.map((block, b): Block => {
    const given = (['upToKwh', 'upToKwhPerDay', 'upToBaseline'] as const).filter((key) => block[key] !== undefined);
    const last = b === blocks.length - 1;
    if (last && given.length > 0)
      faults.add(
        'last-block',
        [...path, b, given[0]!],
        block[given[0]!],
        'no upper end in the last block',
        'remove it, or add a block for what is above',
      );
    if (!last && given.length === 0)
      faults.add(
        'missing',
        [...path, b, 'upToKwh'],
        undefined,
        'an upper end in every block but the last',
        'add "upToKwh"',
      );
    if (given.length > 1)
      faults.add(
        'not-together',
        [...path, b, given[1]!],
        block[given[1]!],
        `one upper end; "${given[0]}" is there already`,
        'remove one of them',
      );
    if (block.upToBaseline !== undefined && version.document.baseline === undefined)
      faults.add(
        'not-together',
        [...path, b, 'upToBaseline'],
        block.upToBaseline,
        '"baseline" in the tariff',
        'add "baseline": [{ "kwhPerDay": … }]',
      );
    const by = block.upToKwh !== undefined ? 'month' : block.upToKwhPerDay !== undefined ? 'day' : 'baseline';
    const value = block.upToKwh ?? block.upToKwhPerDay ?? block.upToBaseline;
    return { bound: value === undefined ? undefined : { by, value }, pricePerKwh: block.pricePerKwh };
  });
  for (let b = 1; b < resolved.length; b++) {
    const [lower, upper] = [resolved[b - 1]!.bound, resolved[b]!.bound];
    if (lower === undefined || upper === undefined) continue;
    const key = Object.keys(blocks[b]!).find((name) => name.startsWith('upTo'))!;
    if (lower.by !== upper.by)
      faults.add(
        'mixed-blocks',
        [...path, b, key],
        upper.value,
        'the same kind of upper end in all blocks',
        'give all in kWh, in kWh a day, or as multiples of the baseline',
      );
    else if (upper.value <= lower.value)
      faults.add(
        'not-rising',
        [...path, b, key],
        upper.value,
        `more than ${lower.value}`,
        'order blocks by their upper ends',
      );
  }
  return resolved;
}
