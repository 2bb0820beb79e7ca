import { join } from 'node:path';
import { expect, it } from 'vitest';
import { CORE, importsOf, nameOf } from '../../support/imports.ts';

// `reconcile.ts` reads tariffs again, with what bills charge beyond them written in: it carries the reader's library.
it.each(['compile.ts', 'bill/bill.ts', 'evaluate.ts', 'marginal.ts', 'terms/registry.ts', 'resolve/tariff.ts'])(
  'tariff/%s runs without a library',
  (start) => {
    /** Each file that is loaded with it, and the one that asks for it. */
    const askedBy = new Map<string, string>([[join(CORE, 'tariff', start), '']]);
    for (const file of askedBy.keys())
      if (file.startsWith(CORE))
        for (const next of importsOf(file, false)) if (!askedBy.has(next)) askedBy.set(next, nameOf(file));
    expect(askedBy.size).toBeGreaterThan(5);
    expect([...askedBy].filter(([file]) => !file.startsWith(CORE))).toEqual([]);
  },
);
