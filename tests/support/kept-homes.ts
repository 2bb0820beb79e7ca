import type { Axis } from '@duskbank/core/axis';
import type { Home } from '@duskbank/core/dispatch';
import { type CompiledTariff, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { openService, plainPlant, seededHome } from './homes.ts';

type Document = Record<string, unknown>;

const WINDOWS = [
  { name: 'evening', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.42 },
  { name: 'night', from: '00:00', to: '06:00', pricePerKwh: 0.11 },
  { name: 'day', otherwise: true, pricePerKwh: 0.2 },
];

/** What a bill may have beside prices, one home each: what strategies watch and the optimum bounds. */
const BILLS: Record<string, Document> = {
  windows: {},
  'one peak': { demand: [{ name: 'peak', pricePerKw: 9 }] },
  'peaks in two windows': {
    demand: [
      { name: 'evening peak', pricePerKw: 7, inWindows: 'evening' },
      { name: 'any peak', pricePerKw: 3, averagingMinutes: 30 },
    ],
  },
  'peak and windows that sell dear': {
    demand: [{ name: 'peak', pricePerKw: 4 }],
    export: { kind: 'net-billing', pricePerKwh: 0.3 },
  },
  blocks: {
    windows: undefined,
    energy: [{ name: 'Energy', blocks: [{ upToKwh: 90, pricePerKwh: 0.12 }, { pricePerKwh: 0.34 }] }],
  },
  'netted by window': { export: { kind: 'net-metering', within: 'window', surplusPerKwh: 0.03 } },
  'netted by bill': {
    windows: undefined,
    energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
    export: { kind: 'net-metering', within: 'period', surplusPerKwh: 0.03 },
    demand: [{ name: 'peak', pricePerKw: 5, ratchet: { share: 0.8, months: 11 } }],
  },
  'credit carried': { export: { kind: 'net-billing', pricePerKwh: 0.25, carry: 'money', offsets: 'energy' } },
  events: {
    events: [
      { name: 'hot', dates: ['2026-03-05', '2025-10-23', '2026-01-29'], from: '17:00', to: '20:00', adderPerKwh: 0.7 },
    ],
  },
  minimum: { minimumBill: { amount: 70, per: 'month' }, export: { kind: 'net-billing', pricePerKwh: 0.04 } },
  'no sale': { export: { kind: 'none' } },
};

/** The shapes of homes that the bills are laid on. */
const SHAPES = [
  { days: 12, stepMinutes: 60, startEpochMs: Date.UTC(2026, 2, 2, 7), zone: 'America/Denver', solarKw: 4 },
  { days: 8, stepMinutes: 30, startEpochMs: Date.UTC(2025, 9, 21, 22), zone: 'Europe/Berlin', solarKw: 7 },
  { days: 5, stepMinutes: 15, startEpochMs: Date.UTC(2026, 0, 28, 5), zone: 'America/New_York', solarKw: 0 },
];

const PLANTS = [
  plainPlant({ batteryExport: true, floorKwh: 0.76, startKwh: 2 }),
  plainPlant({ coupling: 'dc', capacityKwh: 12, chargeLimitKw: 4, dischargeLimitKw: 4, inverterKw: 4.5, standbyW: 25 }),
  plainPlant({
    gridCharging: false,
    reach: 0.6,
    decayPerHour: 0.0005,
    conversionW: 40,
    shutdownKwh: 0.4,
    floorKwh: 1.2,
  }),
];

const tariffOf =
  (name: string, more: Document) =>
  (axis: Axis): CompiledTariff =>
    compileTariff(
      parseTariff({ format: 'duskbank.tariff/1', name, currency: 'USD', windows: WINDOWS, ...more }, 'tariff.json'),
      axis,
    );

/** Small homes, each with a bill, a shape and a battery of its own. */
export const KEPT_HOMES: readonly (readonly [string, Home])[] = Object.entries(BILLS).flatMap(([name, more], k) =>
  [0, 1].map((turn) => {
    const shape = SHAPES[(k + turn) % SHAPES.length]!;
    const plant = PLANTS[(k + 2 * turn) % PLANTS.length]!;
    const service = k % 4 === 3 ? { importLimitKw: 7, exportLimitKw: 2.5 } : openService;
    const title = `${name}, ${shape.stepMinutes} min${turn === 0 ? '' : ', again'}`;
    return [title, seededHome(40 + 10 * k + turn, shape, plant, service, tariffOf(name, more))] as const;
  }),
);
