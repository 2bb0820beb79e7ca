import { DateTime } from 'luxon';
import { localText, offsetsOf, offsetText } from './clock.ts';
import { type Dice, diceOf } from './dice.ts';
import type { GeneratedHome } from './home.ts';

/** Plain JSON. */
export type Json = { [key: string]: unknown };

/** A tariff document of our own format, with what it needs beside it. */
export interface GeneratedTariff {
  readonly seed: number;
  readonly document: Json;
  /** What the account must state for this tariff: read dates, a contract, the size of the service. */
  readonly account: Json;
  /** Files that the document names: price series. */
  readonly files: Readonly<Record<string, string>>;
  /** What it is made of, for a failing test to say. */
  readonly elements: readonly string[];
}

/** What may be set instead of thrown. */
export interface TariffWishes {
  /**
   * `mixed` throws anything. `plain` has energy prices and a plain credit only, so that a bill is the sum over intervals
   * whatever their length: no demand, no blocks, no netting, no edge inside an hour.
   */
  readonly kind?: 'mixed' | 'plain';
}

interface Making {
  readonly dice: Dice;
  readonly home: GeneratedHome;
  readonly document: Json;
  readonly account: Json;
  readonly files: Record<string, string>;
  readonly elements: string[];
  readonly plain: boolean;
  seasons: string[];
  windowNames: string[];
}

const clock = (minutes: number) =>
  `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;

const price = (dice: Dice, from: number, to: number) => dice.decimal(from, to, dice.pick([2, 3, 4, 4, 5]));

/**
 * A tariff from a seed, for the days of a home (events, price series and read dates lie in them). Every shape that the
 * tariff file knows comes up, alone and together, but what a file may not hold together.
 */
export function generateTariff(seed: number, home: GeneratedHome, wishes: TariffWishes = {}): GeneratedTariff {
  const dice = diceOf(seed, 'tariff');
  const making: Making = {
    dice,
    home,
    document: {
      format: 'duskbank.tariff/1',
      name: `Panel rate ${seed}`,
      currency: dice.pick(['USD', 'USD', 'EUR', 'AUD', 'JPY', 'KWD', 'INR']),
      // Its prices are those of dollars, whatever the currency.
      unusualPrices: true,
    },
    account: {},
    files: {},
    elements: [],
    plain: wishes.kind === 'plain',
    seasons: [],
    windowNames: [],
  };
  rounding(making);
  billing(making);
  holidays(making);
  seasons(making);
  const energyKind = energy(making);
  riders(making);
  const exportKind = exports(making, energyKind);
  if (!making.plain) {
    demand(making);
    if (exportKind !== 'net-metering') events(making);
  }
  fixed(making);
  percentages(making);
  if (!making.plain) {
    if (dice.chance(0.15)) {
      making.document.minimumBill = {
        amount: dice.decimal(5, 60, 2),
        per: dice.pick(['month', 'day', 'bill']) === 'day' ? 'month' : dice.pick(['month', 'bill']),
        ...(dice.chance(0.5) ? { on: dice.pick([['energy', 'fixed'], ['energy', 'export'], 'all']) } : {}),
      };
      making.elements.push('minimum bill');
    }
    version(making, energyKind);
    usageCredits(making);
  }
  return { seed, ...making };
}

function usageCredits({ dice, document, elements }: Making): void {
  if (!dice.chance(0.1)) return;
  const leastKwh = 50 * dice.whole(0, 20);
  document.usageCredits = [
    { name: 'Usage credit', amount: dice.decimal(5, 60, 2), leastKwh },
    ...(dice.chance(0.5) ? [{ name: 'Thrift credit', amount: 4.5, leastKwh: 0, belowKwh: leastKwh + 100 }] : []),
  ];
  elements.push('usage credit');
}

function rounding({ dice, document, elements }: Making): void {
  if (dice.chance(0.6)) return;
  const at = dice.pick(['line', 'bill', 'never']);
  const mode = dice.pick(['half-up', 'half-even', 'down', 'up']);
  document.rounding = {
    at,
    mode,
    ...(dice.chance(0.2) ? { decimals: dice.whole(0, 4) } : {}),
    ...(dice.chance(0.2) ? { energyDecimals: dice.whole(0, 3) } : {}),
  };
  elements.push(`rounding ${at} ${mode}`);
}

function billing({ dice, document, elements, home, account }: Making): void {
  const by = dice.pick([
    'calendar-month',
    'calendar-month',
    'cycle-day',
    'read-dates',
    'account-cycle',
    'account-dates',
  ]);
  const monthDays = dice.chance(0.15)
    ? { monthDays: dice.pick([30, 30.4375]), ...(dice.chance(0.5) ? { monthDecimals: dice.whole(2, 5) } : {}) }
    : {};
  const readDates = () => {
    const dates: string[] = [];
    const before = dice.whole(0, 20);
    let date = DateTime.fromISO(home.firstDate, { zone: 'utc' }).minus({ days: before });
    const end = DateTime.fromISO(home.lastDate, { zone: 'utc' });
    do {
      dates.push(date.toISODate()!);
      date = date.plus({ days: dice.whole(27, 34) });
    } while (date < end || dates.length < 3);
    // Some meters are read every other month.
    return before % 3 === 0 ? dates.filter((_, k) => k % 2 === 0) : dates;
  };
  if (by === 'cycle-day') document.billing = { by, day: dice.pick([5, 17, 29, 31]), ...monthDays };
  else if (by === 'read-dates') document.billing = { by, dates: readDates(), ...monthDays };
  else {
    if (by === 'account-cycle') account.cycleDay = dice.whole(2, 28);
    if (by === 'account-dates') account.readDates = readDates();
    if ('monthDays' in monthDays) document.billing = { by: 'calendar-month', ...monthDays };
  }
  elements.push(`billing ${by}${'monthDays' in monthDays ? ' by month days' : ''}`);
}

function holidays({ dice, document, elements, home }: Making): void {
  if (dice.chance(0.5)) return;
  const first = DateTime.fromISO(home.firstDate, { zone: 'utc' });
  const someDay = first.plus({ days: dice.whole(1, 25) });
  const list: unknown[] = [];
  if (dice.chance(0.5)) list.push(dice.pick(['us-federal', 'us-six']));
  if (dice.chance(0.5))
    list.push({
      name: 'Founders',
      date: someDay.toFormat('MM-dd'),
      observed: dice.pick(['none', 'nearest-weekday', 'sunday-to-monday', 'next-weekday']),
    });
  if (dice.chance(0.3))
    list.push({ name: 'Harvest', weekday: 'thursday', nth: dice.pick([1, 3, -1]), month: someDay.month });
  if (dice.chance(0.3)) list.push({ name: 'Queen', weekday: 'monday', onOrBefore: someDay.toFormat('MM-dd') });
  if (dice.chance(0.3)) list.push({ name: 'Lights', weekday: 'friday', onOrAfter: someDay.toFormat('MM-dd') });
  if (dice.chance(0.4)) list.push({ name: 'Good Friday', daysAfterEaster: -2 });
  if (dice.chance(0.2)) list.push({ name: 'Easter Monday', daysAfterEaster: 1, church: 'orthodox' });
  if (dice.chance(0.3)) list.push({ name: 'Once', dates: [first.plus({ days: dice.whole(2, 28) }).toISODate()] });
  if (list.length === 0) return;
  document.holidays = list;
  elements.push('holidays');
}

function seasons(making: Making): void {
  const { dice, document, elements } = making;
  if (dice.chance(0.5)) return;
  const shape = dice.pick(['months', 'dates', 'three']);
  if (shape === 'months')
    document.seasons = [
      { name: 'summer', months: [6, 7, 8, 9] },
      { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
    ];
  else if (shape === 'dates')
    document.seasons = [
      { name: 'winter', from: '11-15', to: '02-28' },
      { name: 'summer', from: '03-01', to: '11-14' },
    ];
  else
    document.seasons = [
      { name: 'summer', from: '05-16', to: '09-15' },
      { name: 'winter', from: '12-01', to: '03-31' },
      { name: 'between', from: '04-01', to: '05-15' },
      { name: 'autumn', from: '09-16', to: '11-30' },
    ];
  making.seasons = (document.seasons as { name: string }[]).map((season) => season.name);
  elements.push(`seasons ${shape}`);
}

/** Windows for one season (or all): a peak, perhaps a night, and the rest. */
function windowsOf(making: Making, within: Json, shape: string, night: boolean, edges: number): Json[] {
  const { dice } = making;
  const windows: Json[] = [];
  const peakFrom = (dice.whole(15, 18) * 60 + edges) % 1440;
  const peakTo = (dice.whole(19, 22) * 60 + edges) % 1440;
  const cheap = price(dice, 0.05, 0.16);
  const middle = price(dice, 0.16, 0.28);
  const dear = price(dice, 0.28, 0.75);
  const weekdays = dice.chance(0.6) ? { days: 'weekday' } : {};
  windows.push({
    name: 'on-peak',
    ...within,
    ...weekdays,
    from: clock(peakFrom),
    to: clock(peakTo),
    pricePerKwh: dear,
  });
  if (night)
    windows.push({
      name: 'night',
      ...within,
      ...(shape === 'night by start' ? { daysOf: 'start', days: 'weekday' } : {}),
      from: clock(23 * 60),
      to: clock(dice.whole(5, 7) * 60),
      pricePerKwh: cheap,
    });
  windows.push({ name: 'off-peak', ...within, otherwise: true, pricePerKwh: middle });
  return windows;
}

function energy(making: Making): string {
  const { dice, document, elements, home, plain } = making;
  const kind = dice.pick(
    plain
      ? ['windows', 'windows', 'night', 'night by start', 'flat', 'series', 'table']
      : [
          'windows',
          'windows',
          'windows',
          'night',
          'night by start',
          'edges',
          'flat',
          'window blocks',
          'blocks',
          'blocks per day',
          'blocks by day',
          'baseline',
          'baseline by day',
          'falling blocks',
          'table',
          'series',
          'series and windows',
          'own windows',
          'by window',
          'months',
        ],
  );
  elements.push(`energy ${kind}`);
  const perSeason = making.seasons.length > 0 && dice.chance(0.7);
  const night = kind.startsWith('night') || dice.chance(0.4);
  const edges =
    kind === 'edges' ? dice.pick([10, 20, 30, 45]) : !plain && home.stepMinutes < 60 && dice.chance(0.2) ? 30 : 0;
  const windows = perSeason
    ? making.seasons.flatMap((season) => windowsOf(making, { seasons: season }, kind, night, edges))
    : kind === 'months'
      ? [
          ...windowsOf(making, { months: [1, 2, 3, 10, 11, 12] }, kind, night, edges),
          ...windowsOf(making, { months: [4, 5, 6, 7, 8, 9] }, kind, night, edges),
        ]
      : windowsOf(making, {}, kind, night, edges);
  const charges: Json[] = [];
  const blocksOf = (ends: Json[], rising = true) => {
    let pricePerKwh = rising ? price(dice, 0.08, 0.2) : price(dice, 0.25, 0.4);
    const blocks: Json[] = [];
    for (const end of [...ends, {}]) {
      blocks.push({ ...end, pricePerKwh });
      pricePerKwh = Math.round((pricePerKwh + (rising ? 1 : -1) * dice.between(0.02, 0.08)) * 1e4) / 1e4;
    }
    return blocks;
  };
  const withWindows = (list: Json[] = windows) => {
    document.windows = list;
    making.windowNames = [...new Set(list.map((window) => window.name as string))];
  };
  const alone = (list: Json[]) => list.map(({ pricePerKwh: _, ...window }) => window);
  if (kind === 'flat') withWindows([{ name: 'all hours', otherwise: true, pricePerKwh: price(dice, 0.1, 0.4) }]);
  else if (kind === 'window blocks') {
    withWindows(
      windows.map(({ pricePerKwh, ...window }) => ({
        ...window,
        blocks: [
          { upToKwh: dice.whole(20, 200), pricePerKwh },
          { pricePerKwh: Math.round((Number(pricePerKwh) + 0.05) * 1e4) / 1e4 },
        ],
      })),
    );
  } else if (kind === 'series' || kind === 'series and windows') {
    priceFile(making, 'spot.csv');
    charges.push({
      name: 'Market',
      supplier: 'Brightfield Supply',
      series: {
        file: 'spot.csv',
        ...(dice.chance(0.5) ? { multiplier: 1.06, adderPerKwh: 0.0185 } : {}),
        ...(kind === 'series' ? {} : { known: 'published' }),
      },
    });
    if (kind === 'series and windows') withWindows();
  } else if (kind === 'table')
    charges.push({
      name: 'Table energy',
      table: [hourTable(making, 'weekday', 0.1, 0.5), hourTable(making, 'weekend', 0.1, 0.3)],
    });
  else if (kind === 'own windows') {
    withWindows(alone(windows));
    charges.push({
      name: 'Supply',
      windows: [
        { name: 'dear', days: 'all', from: '06:00', to: '22:00', pricePerKwh: price(dice, 0.15, 0.4) },
        { name: 'cheap', otherwise: true, pricePerKwh: price(dice, 0.05, 0.15) },
      ],
    });
  } else if (kind === 'by window') {
    withWindows(alone(windows));
    charges.push({
      name: 'Supply',
      byWindow: Object.fromEntries(
        making.windowNames.map((name) => [
          name,
          price(dice, name === 'on-peak' ? 0.3 : 0.05, name === 'on-peak' ? 0.6 : 0.2),
        ]),
      ),
    });
  } else if (kind === 'blocks')
    charges.push({
      name: 'Supply',
      blocks: blocksOf([{ upToKwh: dice.whole(80, 300) }, { upToKwh: dice.whole(301, 700) }]),
    });
  else if (kind === 'falling blocks')
    charges.push({ name: 'Supply', blocks: blocksOf([{ upToKwh: dice.whole(80, 300) }], false) });
  else if (kind === 'blocks per day')
    charges.push({ name: 'Supply', blocks: blocksOf([{ upToKwhPerDay: dice.decimal(3, 12, 1) }]) });
  else if (kind === 'blocks by day')
    charges.push({ name: 'Supply', resets: 'day', blocks: blocksOf([{ upToKwhPerDay: dice.decimal(3, 12, 1) }]) });
  else if (kind === 'baseline' || kind === 'baseline by day') {
    document.baseline =
      making.seasons.length > 0
        ? making.seasons.map((season) => ({ kwhPerDay: dice.decimal(4, 14, 1), seasons: season }))
        : [{ kwhPerDay: dice.decimal(4, 14, 1) }];
    charges.push({
      name: 'Supply',
      ...(kind === 'baseline by day' ? { resets: 'day' } : {}),
      blocks: blocksOf([{ upToBaseline: 1 }, { upToBaseline: dice.pick([1.3, 4]) }]),
    });
  } else withWindows();
  if (charges.length > 0) document.energy = charges;
  return kind;
}

function hourTable({ dice, document }: Making, days: string, from: number, to: number): Json {
  // Where a tariff lists holidays, a table must say what holds on them.
  const withHolidays = days === 'weekend' && document.holidays !== undefined;
  return {
    days: withHolidays ? ['saturday', 'sunday', 'holiday'] : days,
    pricesByHour: Array.from({ length: 24 }, (_, hour) =>
      dice.decimal(from, hour >= 16 && hour < 21 ? to : (from + to) / 2, 4),
    ),
  };
}

function priceFile({ dice, home, files }: Making, name: string): void {
  const stepMinutes = dice.pick([60, 60, 30, 15]);
  const offsetAt = offsetsOf(home.zone);
  const lines = ['start,price per kWh'];
  const end = home.startEpochMs + home.intervals * home.stepMinutes * 60_000 + 3_600_000;
  // Zones of a quarter of an hour begin beside the full hour of UTC: the file begins where the home's clock does.
  for (let t = home.startEpochMs - 3_600_000; t < end; t += stepMinutes * 60_000)
    lines.push(`${localText(t, offsetAt(t))}${offsetText(offsetAt(t))},${dice.decimal(-0.03, 0.42, 5)}`);
  files[name] = `${lines.join('\n')}\n`;
}

function riders(making: Making): void {
  const { dice, document, elements } = making;
  const energyCharges = (document.energy ?? []) as Json[];
  if (dice.chance(0.4)) {
    energyCharges.push({ name: 'Delivery', supplier: 'Mill River', pricePerKwh: price(dice, 0.01, 0.09) });
    elements.push('delivery');
  }
  if (dice.chance(0.2)) {
    energyCharges.push({ name: 'Fuel', pricePerKwh: -dice.decimal(0.001, 0.009, 4) });
    elements.push('credit per kWh');
  }
  if (dice.chance(0.2)) {
    energyCharges.push({ name: 'Fund', pricePerKwh: dice.decimal(0.002, 0.03, 4), nonBypassable: true });
    elements.push('non-bypassable');
  }
  if (making.seasons.length > 0 && dice.chance(0.3)) {
    energyCharges.push({ name: 'Season rider', seasons: making.seasons[0], pricePerKwh: dice.decimal(0.01, 0.05, 4) });
    elements.push('season rider');
  }
  if (making.windowNames.includes('on-peak') && dice.chance(0.3)) {
    energyCharges.push({ name: 'Peak rider', inWindows: 'on-peak', pricePerKwh: dice.decimal(0.01, 0.08, 4) });
    elements.push('peak rider');
  }
  if (dice.chance(0.1)) {
    energyCharges.push({ name: 'Members', programme: 'lane-club', pricePerKwh: -0.0125 });
    if (dice.chance(0.5)) making.account.programmes = ['lane-club'];
    elements.push('programme');
  }
  if (energyCharges.length > 0) document.energy = energyCharges;
}

function exports(making: Making, energyKind: string): string {
  const { dice, document, elements, plain } = making;
  const noNetting = energyKind.startsWith('series') || energyKind.endsWith('by day');
  const kind = plain
    ? 'net-billing'
    : dice.pick([
        'none',
        'net-billing',
        'net-billing',
        'net-billing',
        ...(noNetting ? [] : ['net-metering', 'net-metering']),
        'buy-all',
      ]);
  const trueUp = () => (dice.chance(0.5) ? { trueUpMonth: dice.whole(1, 12) } : {});
  const money = () =>
    ({
      carry: 'money',
      ...(dice.chance(0.5) ? { offsets: 'all' } : {}),
      ...trueUp(),
      ...(dice.chance(0.5) ? { settleShare: dice.decimal(0, 1, 1) } : {}),
    }) as Json;
  if (kind === 'none') document.export = { kind };
  else if (kind === 'buy-all') document.export = { kind, pricePerKwh: price(dice, 0.05, 0.2) };
  else if (kind === 'net-billing') {
    const by = dice.pick(
      plain
        ? ['price', 'table', 'windows']
        : ['price', 'price', 'price', 'by window', 'table', 'windows', 'series', 'blocks', 'blocks by day'],
    );
    const prices: Json = {};
    if (by === 'by window' && making.windowNames.length > 0)
      prices.byWindow = Object.fromEntries(making.windowNames.map((name) => [name, price(dice, 0.02, 0.12)]));
    else if (by === 'table')
      prices.table = [hourTable(making, 'weekday', 0.02, 0.3), hourTable(making, 'weekend', 0.02, 0.1)];
    else if (by === 'windows')
      prices.windows = [
        { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: price(dice, 0.1, 0.3) },
        { name: 'rest', otherwise: true, pricePerKwh: price(dice, 0.02, 0.09) },
      ];
    else if (by === 'series') {
      priceFile(making, 'sold.csv');
      prices.series = { file: 'sold.csv', multiplier: 0.9 };
    } else if (by.startsWith('blocks')) {
      const daily = by.endsWith('day');
      if (daily) prices.resets = 'day';
      prices.blocks = [
        { [daily ? 'upToKwhPerDay' : 'upToKwh']: daily ? dice.whole(2, 8) : dice.whole(50, 150), pricePerKwh: 0.11 },
        { pricePerKwh: dice.decimal(0.02, 0.09, 3) },
      ];
    } else prices.pricePerKwh = price(dice, 0.02, 0.12);
    document.export = { kind, ...prices, ...(!plain && dice.chance(0.25) ? money() : {}) };
    elements.push(`credit ${by}`);
  } else {
    const oneWindow = making.windowNames.length <= 1 && energyKind !== 'table';
    const carry = dice.pick(['none', 'kwh', 'money']);
    document.export = {
      kind,
      ...(oneWindow && dice.chance(0.5) ? { within: 'period' } : {}),
      ...(carry === 'none' ? {} : carry === 'kwh' ? { carry, ...trueUp() } : money()),
      ...(carry !== 'money' && dice.chance(0.6) ? { surplusPerKwh: dice.decimal(0.01, 0.06, 3) } : {}),
    };
    if (carry === 'kwh' && dice.chance(0.2)) making.account.carriedKwh = dice.whole(5, 90);
    elements.push(`netting ${carry}`);
  }
  if ((document.export as Json).carry === 'money' && dice.chance(0.2)) making.account.carriedMoney = dice.whole(3, 60);
  if (kind !== 'none' && dice.chance(0.1)) (document.export as Json).limitKw = dice.decimal(0.5, 6, 1);
  elements.push(`export ${kind}`);
  return kind;
}

function demand(making: Making): void {
  const { dice, document, elements, account } = making;
  if (dice.chance(0.65)) return;
  const charges: Json[] = [];
  for (let k = dice.whole(1, 2); k > 0; k--) {
    const shape = dice.pick([
      'price',
      'price',
      'per day',
      'steps',
      'window',
      'hours',
      'season',
      'highest days',
      'ratchet',
      'contract',
      'kVA',
    ]);
    const charge: Json = { name: `Demand ${k}`, pricePerKw: dice.decimal(2, 14, 2) };
    if (dice.chance(0.5)) charge.averagingMinutes = dice.pick([15, 30, 60]);
    if (shape === 'per day') {
      delete charge.pricePerKw;
      charge.pricePerKwDay = dice.decimal(0.05, 0.4, 3);
    } else if (shape === 'steps') {
      delete charge.pricePerKw;
      charge.steps = [{ upToKw: 3, amount: 12.5 }, { upToKw: 6, amount: 24 }, { amount: 41.3 }];
    } else if (shape === 'window' && making.windowNames.includes('on-peak')) charge.inWindows = 'on-peak';
    else if (shape === 'hours') Object.assign(charge, { days: 'weekday', from: '17:00', to: '21:00' });
    else if (shape === 'season' && making.seasons.length > 0) charge.seasons = making.seasons[0];
    else if (shape === 'highest days') charge.highestDays = dice.whole(2, 4);
    else if (shape === 'ratchet') {
      charge.ratchet = {
        share: dice.pick([0.6, 0.8]),
        months: dice.pick([1, 2, 11]),
        ...(making.seasons.length > 0 && dice.chance(0.5) ? { seasons: making.seasons[0] } : {}),
      };
      if (dice.chance(0.5)) account.earlierPeaksKw = [dice.decimal(1, 9, 1), dice.decimal(1, 9, 1)];
    } else if (shape === 'contract') {
      charge.contractShare = 0.8;
      account.contractKw = dice.whole(2, 9);
    } else if (shape === 'kVA') {
      charge.unit = 'kVA';
      if (dice.chance(0.5)) account.powerFactor = dice.pick([0.9, 0.95]);
    }
    if (dice.chance(0.2)) charge.minimumKw = dice.whole(1, 5);
    charges.push(charge);
    elements.push(`demand ${shape}`);
  }
  document.demand = charges;
}

function events(making: Making): void {
  const { dice, document, elements, home } = making;
  if (dice.chance(0.75)) return;
  const kind = dice.pick(['price', 'adder', 'stated rebate', 'usual rebate']);
  if (kind === 'price' && document.windows === undefined) return;
  const first = DateTime.fromISO(home.firstDate, { zone: 'utc' });
  const days = DateTime.fromISO(home.lastDate, { zone: 'utc' }).diff(first, 'days').days;
  const dates = new Set<string>();
  for (let k = dice.whole(1, 3); k > 0; k--) {
    let day = first.plus({ days: dice.whole(Math.min(18, days - 3), Math.max(18, days - 3)) });
    while (day.weekday > 5) day = day.minus({ days: 1 });
    dates.add(day.toISODate()!);
  }
  const event: Json = {
    name: 'Alert',
    dates: [...dates].sort(),
    from: clock(dice.whole(14, 17) * 60),
    to: clock(dice.whole(18, 21) * 60),
  };
  if (kind === 'price') event.pricePerKwh = price(dice, 0.8, 1.5);
  else if (kind === 'adder') event.adderPerKwh = price(dice, 0.3, 0.8);
  else {
    event.rebatePerKwh = price(dice, 0.4, 1.25);
    if (kind === 'stated rebate') event.baselineKwh = dice.decimal(2, 12, 1);
    else event.baselineDays = dice.whole(3, 6);
  }
  document.events = [event];
  elements.push(`event ${kind}`);
}

function fixed(making: Making): void {
  const { dice, document, elements, account } = making;
  const charges: Json[] = [{ name: 'Customer charge', amount: dice.decimal(4, 25, 2) }];
  if (dice.chance(0.3)) charges.push({ name: 'Meter', amount: dice.decimal(0.02, 0.4, 3), per: 'day' });
  if (dice.chance(0.15)) charges.push({ name: 'Lifeline', amount: 0.37, per: 'bill' });
  if (dice.chance(0.15))
    charges.push({ name: 'Lease', supplier: 'Mill River', amount: dice.decimal(20, 90, 2), per: 'year' });
  if (dice.chance(0.1)) {
    charges.push({ name: 'Capacity', amount: dice.decimal(0.5, 2, 2), per: 'kva-month' });
    account.serviceKva = dice.whole(5, 15);
  }
  if (dice.chance(0.1)) {
    charges.push({
      name: 'Service',
      byServiceSize: [{ upToAmps: 60, amount: 6.5 }, { upToAmps: 125, amount: 9.25 }, { amount: 18 }],
    });
    account.serviceAmps = dice.pick([60, 100, 200]);
  }
  if (making.seasons.length > 0 && dice.chance(0.2))
    charges.push({ name: 'Seasonal', amount: 5, seasons: making.seasons[0] });
  if (dice.chance(0.1)) charges.push({ name: 'Rebate', amount: -dice.decimal(1, 6, 2) });
  document.fixed = charges;
  if (charges.length > 1) elements.push('several fixed');
}

function percentages(making: Making): void {
  const { dice, document, elements } = making;
  const names = ['all', 'energy', 'fixed', 'export', 'demand', 'Customer charge', 'Mill River'];
  const on = () => (dice.chance(0.3) ? 'all' : [...new Set([dice.pick(names), dice.pick(names)])]);
  // Several "on" that hold "all" beside others would say the same thing twice: all is all.
  const clean = (value: string | string[]) => (Array.isArray(value) && value.includes('all') ? 'all' : value);
  const known = (value: string | string[]) => {
    const suppliers = JSON.stringify(document).includes('"supplier":"Mill River"');
    const list = [value].flat().filter((name) => name !== 'Mill River' || suppliers);
    return list.length === 0 ? 'all' : list;
  };
  const make = () => known(clean(on()) as string | string[]);
  if (dice.chance(0.3)) {
    const list: Json[] = [{ name: 'Storm recovery', percent: dice.decimal(0.5, 6, 2), on: make() }];
    if (dice.chance(0.5))
      list.push({
        name: 'Discount',
        percent: -dice.decimal(1, 12, 1),
        on: dice.chance(0.5) ? ['energy', 'Storm recovery'] : make(),
      });
    document.adjustments = list;
    elements.push('adjustments');
  }
  if (dice.chance(0.6)) {
    const list: Json[] = [{ name: 'Town tax', percent: dice.decimal(1, 20, 1), on: make() }];
    if (dice.chance(0.3))
      list.push({
        name: 'State tax',
        percent: dice.decimal(1, 6, 2),
        on: dice.chance(0.5) ? ['energy', 'Town tax'] : 'all',
      });
    document.taxes = list;
    elements.push('taxes');
  }
}

function version(making: Making, energyKind: string): void {
  const { dice, document, elements, home } = making;
  if (dice.chance(0.85) || energyKind.startsWith('series')) return;
  const days = DateTime.fromISO(home.lastDate).diff(DateTime.fromISO(home.firstDate), 'days').days;
  const from = DateTime.fromISO(home.firstDate, { zone: 'utc' }).plus({ days: dice.whole(3, Math.floor(days) - 3) });
  const later: Json = { from: from.toISODate(), note: 'General rate case' };
  const dearer = (value: unknown): unknown =>
    Array.isArray(value)
      ? value.map(dearer)
      : typeof value === 'object' && value !== null
        ? Object.fromEntries(
            Object.entries(value).map(([key, inner]) => [
              key,
              key === 'pricePerKwh' || key === 'amount' || key === 'pricePerKw'
                ? Math.round(Number(inner) * 1.125 * 1e5) / 1e5
                : dearer(inner),
            ]),
          )
        : value;
  if (document.windows !== undefined && dice.chance(0.7)) later.windows = dearer(document.windows);
  if (document.energy !== undefined && dice.chance(0.5)) later.energy = dearer(document.energy);
  if (document.fixed !== undefined && dice.chance(0.5)) later.fixed = dearer(document.fixed);
  if (document.demand !== undefined && dice.chance(0.5)) later.demand = dearer(document.demand);
  if (Object.keys(later).length === 2) later.fixed = dearer(document.fixed);
  document.versions = [later];
  elements.push('version');
}
