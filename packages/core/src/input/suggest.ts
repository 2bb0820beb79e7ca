/** The known name nearest to what was typed, or undefined where none is near: for "did you mean". */
export function nearestName(typed: string, known: readonly string[]): string | undefined {
  const word = typed.toLowerCase().slice(0, 64);
  let best: string | undefined;
  let bestDistance = Math.max(1, Math.floor(word.length * 0.4)) + 1;
  for (const name of known) {
    const distance = editDistance(word, name.toLowerCase());
    if (distance < bestDistance) {
      best = name;
      bestDistance = distance;
    }
  }
  if (best !== undefined || word.length < 4) return best;
  // "price" for "pricePerKwh": the beginning of one name, and of that one only.
  const begun = known.filter((name) => name.toLowerCase().startsWith(word));
  return begun.length === 1 ? begun[0] : undefined;
}

/** Words that others use for a field of ours, told apart by what the object knows. */
const SAME_MEANING: Readonly<Record<string, readonly string[]>> = {
  tiers: ['blocks'],
  tier: ['blocks'],
  bands: ['blocks'],
  steps: ['blocks'],
  periods: ['windows'],
  touperiods: ['windows'],
  rate: ['pricePerKwh', 'percent'],
  rates: ['byWindow', 'energy'],
  price: ['pricePerKwh', 'pricePerKw', 'amount'],
  cost: ['pricePerKwh', 'pricePerKw', 'amount'],
  charge: ['pricePerKwh', 'amount'],
  max: ['upToKwh'],
  limit: ['upToKwh'],
  upto: ['upToKwh'],
  timezone: ['zone'],
  tz: ['zone'],
  tax: ['taxes'],
  vat: ['taxes'],
  feedin: ['export'],
  ratchets: ['ratchet'],
  reserve: ['reservePercent'],
  start: ['from'],
  end: ['to'],
};

/**
 * The known name that was meant by what was typed: the nearest in letters, or another word for the same thing. Undefined
 * where none is near.
 */
export function meantName(typed: string, known: readonly string[]): string | undefined {
  const word = typed
    .toLowerCase()
    .replace(/[\s_-]/g, '')
    .slice(0, 64);
  const others = Object.hasOwn(SAME_MEANING, word) ? SAME_MEANING[word]! : [];
  return others.find((name) => known.includes(name)) ?? nearestName(typed, known);
}

/** Fields that stand elsewhere: told by a field that the object has, which shows what it is. */
const ELSEWHERE: readonly { readonly words: readonly string[]; readonly beside: string; readonly hint: string }[] = [
  {
    words: ['tiers', 'tier', 'blocks', 'bands', 'steps'],
    beside: 'windows',
    hint: 'did you mean "blocks", prices by how much is used? They stand inside a window, or an entry of "energy": blocks: [{ upToKwh: 300, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }]. Prices by the hour are "windows"',
  },
];

/** What to do about a key that an object doesn't know. */
export function unknownKeyHint(typed: string, known: readonly string[]): string {
  const word = typed.toLowerCase();
  const elsewhere = ELSEWHERE.find(({ words, beside }) => words.includes(word) && known.includes(beside));
  const near = meantName(typed, known);
  return elsewhere?.hint ?? (near === undefined ? 'remove it' : `did you mean "${near}"?`);
}

/** Optimal string alignment distance: insertions, deletions, substitutions and swaps of neighbours count 1 each. */
function editDistance(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const cost = a[i - 1] === b[j - 1] ? 0 : 1;
      let distance = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + cost);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        distance = Math.min(distance, beforeLast[j - 2]! + 1);
      row.push(distance);
    }
    beforeLast = last;
    last = row;
  }
  return last[b.length]!;
}
