import {
  checkDocument,
  describeIssue,
  fields,
  formatPath,
  type InputError,
  nearestName,
  showValue,
} from '@duskbank/core/input';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import * as z from 'zod';
import { decodeDocument } from '../../../packages/core/src/input/source.ts';

const schema = fields({
  name: z.string(),
  sizeKwh: z.number().positive().max(10),
  kind: z.enum(['whole', 'half']).optional(),
  parts: z.array(fields({ name: z.string(), count: z.int().min(1) })).optional(),
  export: z
    .discriminatedUnion(
      'kind',
      [fields({ kind: z.literal('none') }), fields({ kind: z.literal('flat'), price: z.number() })],
      {
        error: 'an object whose "kind" is one of none, flat',
      },
    )
    .optional(),
});

function faults(document: unknown) {
  const checked = checkDocument(schema, document, 'file.json');
  return checked.ok ? [] : checked.issues.map((issue) => `${formatPath(issue.where.path ?? [])} ${issue.code}`).sort();
}

test('a file with a byte of 0 is no text, and said to be binary', () => {
  const received = (bytes: string) => {
    try {
      return decodeDocument(new TextEncoder().encode(bytes), 'site.json');
    } catch (error) {
      return (error as InputError).issues[0]!.received;
    }
  };
  expect(received('{"name": "a\u0000b"}')).toBe('binary data');
  expect(received('{"name": "a\u0001b"}')).not.toBe('binary data');
});

describe('checkDocument', () => {
  test('tells every fault of form at once, with its path', () => {
    expect(faults({ sizeKwh: 11, kind: 'hole', parts: [{ name: 'a', count: 0 }, { count: 1 }], extra: 1 })).toEqual([
      'extra unknown-key',
      'kind not-allowed',
      'name missing',
      'parts[0].count out-of-range',
      'parts[1].name missing',
      'sizeKwh out-of-range',
    ]);
  });

  test('names the list entry that a fault is in', () => {
    const checked = checkDocument(schema, { name: 'x', sizeKwh: 1, parts: [{ name: 'left', count: 0 }] }, 'file.json');
    expect(!checked.ok && describeIssue(checked.issues[0]!)).toBe(
      'file.json, field "parts[0].count" of "left": received 0; expected at least 1',
    );
  });

  test('a union told apart by its kind says which kinds there are', () => {
    const checked = checkDocument(schema, { name: 'x', sizeKwh: 1, export: { kind: 'flatt' } });
    expect(!checked.ok && checked.issues).toMatchObject([
      { code: 'not-allowed', where: { path: ['export', 'kind'] }, received: '"flatt"', hint: 'did you mean "flat"?' },
    ]);
  });

  test('keys that reach a prototype are refused at any depth, beside the other faults, and change nothing', () => {
    const document = JSON.parse(
      '{"name": 1, "sizeKwh": 1, "parts": [{"name": "a", "count": 1, "__proto__": {"bad": true}}]}',
    );
    expect(faults(document)).toEqual(['name wrong-type', 'parts[0].__proto__ forbidden-key']);
    expect(({} as { bad?: boolean }).bad).toBeUndefined();
  });

  test('a quoted number is told to lose its quotes, a word is not', () => {
    const hint = (sizeKwh: unknown) => {
      const checked = checkDocument(schema, { name: 'x', sizeKwh });
      return checked.ok ? 'none' : checked.issues[0]!.hint;
    };
    expect(hint('5')).toBe('write the number without quotes');
    expect(hint('five')).toBeUndefined();
  });

  test('any JSON at all is checked without an exception, and a fault always says what was received and expected', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (document) => {
        const checked = checkDocument(schema, document);
        if (checked.ok) return;
        expect(checked.issues.length).toBeGreaterThan(0);
        for (const { received, expected, code } of checked.issues) {
          expect(code).toMatch(/^[a-z]+(?:-[a-z]+)*$/);
          expect(received.length * expected.length).toBeGreaterThan(0);
        }
      }),
      { seed: 20251, numRuns: 500 },
    );
  });
});

describe('nearestName', () => {
  test.each([
    ['tarif', 'tariff'],
    ['usableKWh', 'usableKwh'],
    ['pirce', 'price'],
    ['import', 'importLimitKw'],
    ['colour', undefined],
  ])('%s: %s', (typed, near) => {
    expect(nearestName(typed, ['tariff', 'usableKwh', 'price', 'importLimitKw'])).toBe(near);
  });

  test('a beginning that two names share is no suggestion', () => {
    expect(nearestName('import', ['importLimitKw', 'importPricePerKwh'])).toBeUndefined();
  });
});

test('showValue is short and without control characters, whatever it shows', () => {
  fc.assert(
    fc.property(fc.anything(), (value) => {
      const text = showValue(value);
      expect(text.length).toBeLessThanOrEqual(60);
      // biome-ignore lint/suspicious/noControlCharactersInRegex: what must not be there
      expect(text).not.toMatch(/[\u0000-\u001f\u007f]/);
    }),
    { seed: 20252 },
  );
});

describe('what was meant by a field that there isn’t', () => {
  const price = fields({
    name: z.string().optional(),
    blocks: z.array(z.number()).optional(),
    pricePerKwh: z.number().optional(),
    percent: z.number().optional(),
  });
  const hints = (document: object) => {
    const checked = checkDocument(price, document);
    return checked.ok ? [] : checked.issues.map(({ code, received, hint }) => [code, received, hint]);
  };

  test.each([
    ['tiers', 'blocks'],
    ['rate', 'pricePerKwh'],
    ['Price', 'pricePerKwh'],
    ['prcent', 'percent'],
  ])('%s: %s', (key, meant) => {
    expect(hints({ [key]: 1 })).toMatchObject([['unknown-key', expect.anything(), `did you mean "${meant}"?`]]);
  });

  test.each([
    ['4,500', '4500 or 4.5'],
    ['1.200', '1200 or 1.2'],
    ['12,005', '12005 or 12.005'],
    ['1.200,00', '1200.00'],
    ['1,200.50', '1200.50'],
    ['1.200.000', '1200000'],
    ['4 500', '4500'],
    ["-4'500,5", '-4500.5'],
    ['0,140', '0.140'],
    [',5', '0.5'],
    ['4500,00', '4500.00'],
  ])('%s: %s', (text, cure) => {
    expect(hints({ pricePerKwh: text })).toEqual([['wrong-type', expect.anything(), `write ${cure}, without quotes`]]);
  });

  test.each([
    ['0.140', 'write the number without quotes'],
    ['1,2,3', undefined],
    ['12,34.5', undefined],
    ['four', undefined],
  ])('%s: %s', (text, hint) => {
    expect(hints({ pricePerKwh: text })).toEqual([['wrong-type', `"${text}"`, hint]]);
  });

  test.each([
    [20, 'write 0.2 for 20 %'],
    [87.5, 'write 0.875 for 87.5 %'],
    [1.05, undefined],
    [120, undefined],
  ])('a share of %d: %s', (share, hint) => {
    const checked = checkDocument(fields({ share: z.number().max(1) }), { share });
    expect(checked.ok ? [] : checked.issues.map((issue) => issue.hint)).toEqual([hint]);
  });

  test('a long number is repeated in no hint', () => {
    for (const document of [
      { pricePerKwh: 7_788_990_011, '14': null },
      { pricePerKwh: 0, '7788990011': null },
      { pricePerKwh: 0, percent: 3, '7788990011': null },
      { pricePerKwh: '7788990011,5' },
    ])
      expect(JSON.stringify(hints(document)).replace(/[,.]/g, ''), JSON.stringify(document)).not.toMatch(/7788|9900/);
    expect(hints({ pricePerKwh: 0, '7788990011': null })).toEqual([
      ['decimal-comma', 'the key "pricePerKwh"', 'write it with a decimal point'],
    ]);
  });

  test('a misspelt field is one fault: that it is missing isn’t told beside it', () => {
    const either = fields({ share: z.number().optional(), watts: z.number().optional() }).superRefine(
      (load, context) => {
        if ((load.share === undefined) === (load.watts === undefined))
          context.addIssue({
            code: 'custom',
            params: { code: 'one-of', hint: 'keep one of the two' },
            message: 'either',
          });
      },
    );
    const codes = (schema: z.ZodType, document: unknown) => {
      const checked = checkDocument(schema, document);
      return checked.ok ? [] : checked.issues.map(({ code, where }) => [code, where.path?.join('.')]);
    };
    expect(codes(either, { wats: 300 })).toEqual([['unknown-key', 'wats']]);
    expect(codes(z.object({ load: either }), { load: { wats: 300 } })).toEqual([['unknown-key', 'load.wats']]);
    expect(codes(fields({ price: z.number(), name: z.string() }), { prise: 3 })).toEqual([
      ['missing', 'name'],
      ['unknown-key', 'prise'],
    ]);
    // Where no field of ours is meant, both are faults; so is what is there.
    expect(codes(either, { xyzzy: 300 })).toEqual([
      ['unknown-key', 'xyzzy'],
      ['one-of', ''],
    ]);
    expect(codes(fields({ price: z.number() }), { prise: 3, price: 'a' })).toEqual([
      ['wrong-type', 'price'],
      ['unknown-key', 'prise'],
    ]);
  });

  test('what stands behind a decimal comma is no field', () => {
    expect(hints({ pricePerKwh: 0, '14': null })).toEqual([
      ['decimal-comma', 'the key "pricePerKwh" with 0,14', 'write 0.14'],
    ]);
    expect(hints({ pricePerKwh: 0, percent: 3, '14': null })).toMatchObject([
      ['decimal-comma', 'the key "14"', 'write 0.14 in place of 0,14'],
    ]);
    expect(hints({ pricePerKwh: '0,14' })).toMatchObject([['wrong-type', '"0,14"', 'write 0.14, without quotes']]);
    expect(hints({ pricePerKwh: 4, '500': null })).toMatchObject([
      ['decimal-comma', expect.stringContaining('4,500'), 'write 4500 or 4.5'],
    ]);
  });
});
