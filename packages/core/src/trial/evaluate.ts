import {
  type FoundSheets,
  followSheet,
  optimum,
  type SettingsWishes,
  type Strategy,
  searchedSettings,
  searchSettings,
} from '../dispatch/index.ts';
import { arraysOf, aStrategy, billedFlows, isSearched, lookBack, playStrategy, roleOf } from '../dispatch/inside.ts';
import { check, flag, list, oneOf, optional, record } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { backupHours, type ReserveSummary, summarizeReserve } from '../outage/index.ts';
import { eveningStarts, hoursOfRuns } from '../outage/inside.ts';
import type { Flows, Levels } from '../plant/index.ts';
import { checkApart, flowsOfLength, levelsOfLength } from '../plant/inside.ts';
import { type Bill, billTariff } from '../tariff/index.ts';
import { billOf, type PaidBill, startEnergyCharge } from './bill.ts';
import { firstFilling } from './bought-once.ts';
import { aCase, type Case } from './case.ts';
import { type EnergySums, energySums } from './energy.ts';
import { startingFull } from './start.ts';

/** The least that any schedule pays, and what is proven about it. */
export interface Bound {
  /** Unrounded, with the energy stored at the start. */
  readonly billTotal: number;
  readonly proof: 'exact' | 'gap';
  /** The best schedule found less the bound; 0 where that is exact. */
  readonly gap: number;
}

/** All that can be asked of one run. */
export interface OutcomeParts {
  /** Every interval's flows and stored energy, kWh. */
  readonly flows: Flows;
  /** What the home pays. */
  readonly bill: PaidBill;
  /** What of `bill.total` was bought once, so that no later year has it: `startEnergy`, and the first filling that the run never gives again. */
  readonly boughtOnce: number;
  /** The same bill line by line, without the energy stored at the start. */
  readonly lines: Bill;
  /** Energy over the axis, kWh. */
  readonly energy: EnergySums;
  /** What is stored for an outage, kWh deliverable; null where the run has no battery. */
  readonly reserve: ReserveSummary | null;
  /** Hours that the battery lasts, were the grid to fail at the start of each interval; null without a battery. */
  readonly backupHours: Float64Array | null;
  /** The best possible in hindsight: of the case, whatever the strategy. */
  readonly bound: Bound;
  /** Where the strategy is a search of settings: what it found. Else null. */
  readonly sheets: FoundSheets | null;
  /** Where the strategy is a search of settings: the run that its money is of. Else null. */
  readonly judged: JudgedRun | null;
}

/** A run of the sheets that the halves of the data were judged on: see {@link evaluate}. */
export type JudgedRun = Pick<Outcome, 'shortfallIntervals' | 'shortfallKwh'> &
  Pick<OutcomeParts, 'flows' | 'energy' | 'reserve'>;

/** What one run of one case gave. Plain data. */
export type Outcome<Part extends keyof OutcomeParts = never> = {
  readonly strategy: string;
  /** The home as if there were no battery. */
  readonly withoutPlant: boolean;
  /** Intervals that ended with less than the floor, and the largest lack, kWh. */
  readonly shortfallIntervals: number;
  readonly shortfallKwh: number;
} & Pick<OutcomeParts, Part>;

/** What may be handed to {@link evaluate}, where many runs follow each other. */
export interface EvaluateOptions {
  /** Arrays of an earlier run, overwritten. An outcome that was made with them and holds `flows` is gone then. */
  readonly flows?: Flows;
  readonly levels?: Levels;
  /** Looked at before the run, and before each schedule that a search tries: a long loop ends there once it is aborted. */
  readonly signal?: Abort | undefined;
}

/** An `AbortSignal`, or what looks like one. */
export interface Abort {
  readonly aborted: boolean;
  readonly reason?: unknown;
}

const PARTS: readonly (keyof OutcomeParts)[] = [
  'flows',
  'bill',
  'boughtOnce',
  'lines',
  'energy',
  'reserve',
  'backupHours',
  'bound',
  'sheets',
  'judged',
];

/** What says whether a long loop shall end. */
export const anAbort = record<Pick<Abort, 'aborted'>>({ aborted: flag });

/**
 * Runs one strategy over one case and reckons what is asked for, nothing else. All studies are loops over this: no
 * other place runs a strategy or bills its flows.
 *
 * Of a search of settings there are two runs. Its money, `bill` and `lines`, is judged on what the search hasn't seen: each half
 * of the data under the sheet that the other half taught. All else is of the one sheet that is printed, since that is what a
 * box then does.
 *
 * Load that neither grid nor battery could carry isn't bought, so that it is on no bill. Before two bills are compared, look at
 * `energy.unservedKwh` of both: where an import limit lies under the load, it differs, and the difference is no saving.
 *
 * @param wanted the parts of the outcome that are asked for
 * @throws InputError on a case or a strategy that is not sound; `stale-case` where a case was copied with another plant or
 * load; `shared-array` where arrays to be overwritten share memory; `missing` where hours of backup are asked for and the case has no island
 * @throws the signal's reason once it is aborted
 */
export function evaluate<const Part extends keyof OutcomeParts = never>(
  stated: Case,
  strategy: Strategy,
  wanted: readonly Part[] = [],
  options: EvaluateOptions = {},
): Outcome<Part> {
  check(
    { case: stated, strategy, wanted, options },
    {
      case: aCase,
      strategy: aStrategy,
      wanted: list(oneOf(PARTS)),
      options: record<EvaluateOptions>({
        flows: optional(flowsOfLength),
        levels: optional(levelsOfLength),
        signal: optional(anAbort),
      }),
    },
  );
  checkApart(options, [...arraysOf(stated), stated.onAxis, stated.onAxis.source, stated.island]);
  const endIfAborted = () => {
    if (options.signal?.aborted === true) throw options.signal.reason ?? new Error('aborted');
  };
  endIfAborted();
  const asked = new Set<keyof OutcomeParts>(wanted);
  const isBound = roleOf(strategy) === 'bound';
  const hindsight = isBound || asked.has('bound') ? lookBack(stated, { onAxis: stated.onAxis }) : undefined;
  const sheets = isSearched(strategy)
    ? (strategy.found ??
      searchSettings(stated.onAxis, stated.tariff, strategy.controller, strategy.reserve, {
        ...lightsOf(stated),
        ...strategy.wishes,
        onTry: endIfAborted,
      }))
    : undefined;
  const of = startingFull(stated, strategy, sheets?.all);
  const { onAxis, tariff, plant, axis } = of;
  const played = isBound
    ? optimum(hindsight)
    : isSearched(strategy)
      ? searchedSettings(strategy.controller, { found: sheets })
      : strategy;
  const judged = playStrategy(played, of, sheets === undefined ? { ...options, onAxis } : { onAxis });
  const { flows, shortfallIntervals, shortfallKwh } =
    sheets === undefined ? judged : playStrategy(followSheet(sheets.all), of, { ...options, onAxis });
  const withoutPlant = roleOf(strategy) === 'baseline';
  const startEnergy = withoutPlant ? 0 : startEnergyCharge(of);
  const parts: { [Name in keyof OutcomeParts]?: () => OutcomeParts[Name] } = {
    flows: () => flows,
    bill: () => billOf(of, judged.flows, startEnergy),
    boughtOnce: () => (withoutPlant ? 0 : startEnergy + firstFilling(of, judged.flows)),
    lines: () => billTariff(tariff, billedFlows(of, judged.flows)),
    energy: () => energySums(of, flows, withoutPlant),
    reserve: () => (withoutPlant ? null : summarizeReserve(plant, flows.socKwh)),
    backupHours: () => (withoutPlant ? null : backupHours({ axis, plant, socKwh: flows.socKwh, ...islandOf(of) })),
    bound: () => ({
      billTotal: hindsight!.boundTotal + startEnergyCharge(stated),
      proof: hindsight!.proof,
      gap: hindsight!.billTotal - hindsight!.boundTotal,
    }),
    sheets: () => sheets ?? null,
    judged: () =>
      sheets === undefined
        ? null
        : {
            flows: judged.flows,
            energy: energySums(of, judged.flows, false),
            reserve: summarizeReserve(plant, judged.flows.socKwh),
            shortfallIntervals: judged.shortfallIntervals,
            shortfallKwh: judged.shortfallKwh,
          },
  };
  const outcome: Record<string, unknown> = { strategy: strategy.name, withoutPlant, shortfallIntervals, shortfallKwh };
  for (const part of asked) outcome[part] = parts[part]!();
  return outcome as Outcome<Part>;
}

/** How long a run of the case would carry its island; a circuit that is medical has a battery kept full, and no choice. */
function lightsOf({ axis, plant, island }: Case): SettingsWishes {
  if (island === undefined || island.medical) return {};
  return { hoursOf: hoursOfRuns({ axis, plant, ...island }), evenings: eveningStarts(axis) };
}

function islandOf({ island }: Case): NonNullable<Case['island']> {
  if (island !== undefined) return island;
  throw new InputError([
    {
      code: 'missing',
      where: { path: ['island'] },
      received: 'a case without an island',
      expected: 'what the battery carries while the grid is down: hours of backup are reckoned from it',
      hint: 'give makeCase, withPlant or withLoad an island, or ask for other parts',
    },
  ]);
}
