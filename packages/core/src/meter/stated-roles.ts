import type { ParseOptions } from './options.ts';
import type { Readings } from './readings.ts';
import { type ChannelPart, channelField, type Finding, type IntervalSeries } from './series.ts';

/** A register of NEM12: E of what is bought, B of what is sold. */
const SUFFIX = /^[eb]\d$/i;

/**
 * Whether the user says of all that a file holds of what is bought and sold which of the two it is.
 *
 * @param findings of the file: what they call unused says nothing
 */
export function statesRoles(
  stated: ParseOptions,
  series: IntervalSeries,
  findings: readonly Pick<Finding, 'code' | 'data'>[],
): boolean {
  const unused = findings.flatMap(({ code, data }) => (code === 'stated-unused' ? (data.options as string[]) : []));
  const said = Object.fromEntries(Object.entries(stated).filter(([name]) => !unused.includes(name)));
  const { channel, columns, rows, sign } = said as ParseOptions;
  const held = (['import', 'export'] as const).filter((role) => series[channelField(role)] !== undefined);
  // Registers of NEM12 are read whether they are named or not.
  const named = new Set(Object.keys(rows ?? {}).map((text) => text.trim().toLowerCase()));
  const isOpen = ({ register, kwh }: ChannelPart) => kwh !== undefined && SUFFIX.test(register) && !named.has(register);
  if (rows !== undefined && series.parts?.some(isOpen)) return false;
  return (
    sign !== undefined ||
    held.every(
      (role) =>
        (channel === role && held.length === 1) ||
        columns?.[role] !== undefined ||
        Object.values(rows ?? {}).includes(role),
    )
  );
}

/**
 * Takes what `rows` states of the registers of a NEM12 file by their suffixes: which of them is bought and which is sold.
 *
 * @returns whether it states that of registers of the file alone; else nothing is taken
 */
export function takeSuffixes({ streams, evidence }: Readings, rows: NonNullable<ParseOptions['rows']>): boolean {
  const stated = Object.entries(rows).map(([text, kind]) => {
    const register = text.trim().toLowerCase();
    const own = streams.filter((stream) => stream.register === register && stream.role !== 'net');
    return { register, kind, own };
  });
  if (!stated.every(({ kind, own }) => (kind === 'import' || kind === 'export') && own.length > 0)) return false;
  // All of both kinds one way: their sum is neither.
  const kinds = new Set(stated.map(({ kind }) => kind));
  if (kinds.size === 1 && new Set(stated.map(({ register }) => register[0])).size > 1) return false;
  for (const { register, kind, own } of stated)
    for (const stream of own) {
      if (kind === 'import' || kind === 'export') stream.role = kind;
      evidence.push(`register ${register.toUpperCase()} is ${kind}: stated`);
    }
  return true;
}
