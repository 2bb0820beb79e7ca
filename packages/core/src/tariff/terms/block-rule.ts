import { type Rule, report, series } from '../../input/door.ts';

/** Upper bounds of blocks: they rise, and the last is Infinity. */
export const blockBounds: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  series({ infinite: true, length: null })(value, path, looking);
  if (looking.issues.length > before) return;
  const bounds = value as Float64Array;
  if (bounds[bounds.length - 1] !== Number.POSITIVE_INFINITY || bounds.some((b, k) => k > 0 && b <= bounds[k - 1]!))
    report(looking, path, 'out-of-range', Array.from(bounds), 'bounds that rise, the last of them Infinity');
};
