import { siteSchema } from '@duskbank/core/site';
import { tariffSchema } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import * as z from 'zod';

/** Figures of a schema that may be as small as one likes, 0 excepted, by their path. */
function boundless(node: unknown, path: string, found: string[]): string[] {
  if (Array.isArray(node)) for (const [i, inner] of node.entries()) boundless(inner, `${path}.${i}`, found);
  else if (typeof node === 'object' && node !== null) {
    const { exclusiveMinimum } = node as { exclusiveMinimum?: unknown };
    if (exclusiveMinimum === 0) found.push(path);
    for (const [key, inner] of Object.entries(node)) boundless(inner, `${path}.${key}`, found);
  }
  return found;
}

test('a figure that must be more than 0 has a floor: 1e-308 A would carry a home for ever', () => {
  const all = { site: siteSchema, tariff: tariffSchema };
  for (const [name, schema] of Object.entries(all)) {
    const open = boundless(z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }), name, []);
    // How readings are scaled and told apart: a factor has no unit and no least.
    expect(open.filter((path) => !/\.(pricePerKwh|billedKwh)$|\.scale\./.test(path))).toEqual([]);
  }
});
