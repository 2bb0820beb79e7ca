// Tariffs that have the prices of one fixture, and of others how export is paid, what power costs, and what comes on top.
import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { type CompileOptions, parseTariff } from '@duskbank/core/tariff';
import { type TariffFixture, tariffFixtures } from './tariff-fixtures.ts';

type Document = Readonly<Record<string, unknown>>;

/** A tariff document made of several fixtures', and the stretch of time and account of them all. */
export interface CrossedTariff {
  readonly name: string;
  readonly document: Document;
  /** Of the first fixture, whose prices these are. */
  readonly axis: TariffFixture['axis'];
  readonly options: CompileOptions;
}

/** Fields that a tariff may have beside its prices: what another fixture says of them fits to any prices. */
const BESIDE = ['demand', 'fixed', 'adjustments', 'taxes', 'minimumBill', 'usageCredits', 'rounding'] as const;

/** So many tariffs for each fixture, the same on every machine. */
export function crossedTariffs(turns: number, days: number): CrossedTariff[] {
  const all = tariffFixtures();
  const account = Object.assign({}, ...all.map((fixture) => fixture.options.account ?? {}), { programmes: [] });
  // Those that bill periods by dates of their own would be refused beside a cycle.
  for (const key of ['cycleDay', 'readDates', 'earlierPeaksKw']) delete account[key];
  const having = (key: string) => all.filter(({ tariff }) => key in tariff.document);
  const pick = (key: string, at: number): unknown => {
    const some = having(key);
    return some.length === 0 ? undefined : (some[at % some.length]!.tariff.document as Document)[key];
  };
  return all.flatMap((fixture, k) =>
    Array.from({ length: turns }, (_, turn): CrossedTariff => {
      const { startEpochMs, stepMinutes, zone } = fixture.axis;
      const axis = makeAxis({ startEpochMs, stepMinutes, intervals: Math.round((days * 1440) / stepMinutes), zone });
      const tried = Array.from({ length: MOST_TRIED }, (_, more) =>
        crossed(fixture, pick, 5 * k + 17 * turn + 7 * more),
      );
      const document = tried.find(isTariff) ?? (fixture.tariff.document as Document);
      const series = { ...fixture.options.series, 'spot.csv': spotOn(axis) };
      return { name: `${fixture.name}, ${turn}`, document, axis, options: { account, series } };
    }),
  );
}

/** What others have may name windows, seasons or charges that the prices don't: then the next one is tried. */
const MOST_TRIED = 12;

function isTariff(document: Document): boolean {
  try {
    parseTariff(document);
    return true;
  } catch (error) {
    if (error instanceof InputError) return false;
    throw error;
  }
}

/** A fixture's prices with what others have, by a number that says which. */
function crossed({ tariff }: TariffFixture, pick: (key: string, at: number) => unknown, at: number): Document {
  const { versions: _versions, ...own } = tariff.document as Document;
  const document: Record<string, unknown> = { ...own, export: pick('export', at), unusualPrices: true };
  for (const [f, key] of BESIDE.entries()) if ((at + f) % 3 === 0) document[key] = pick(key, at + f) ?? document[key];
  const amount = [0.9, 1.7, 3, 40][at % 4]!;
  if (at % 2 === 0) document.minimumBill = { amount, per: amount > 10 ? 'month' : 'day' };
  return Object.fromEntries(Object.entries(document).filter(([, value]) => value !== undefined));
}

/** Hourly prices made up, over all of an axis. */
function spotOn({ startEpochMs, endEpochMs }: CrossedTariff['axis']) {
  const hours = Math.ceil((endEpochMs - startEpochMs) / 3_600_000) + 1;
  const pricePerKwh = Float64Array.from(
    { length: hours },
    (_, h) => Math.round((0.07 + 0.06 * Math.sin(h / 3.7)) * 1e4) / 1e4,
  );
  return { startEpochMs, stepMinutes: 60, pricePerKwh };
}
