import { dateOfCivilDay, formatDate } from '../axis/index.ts';
import { none } from '../dispatch/index.ts';
import { check, list } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import type { Study } from '../site/index.ts';
import { aHome } from '../site/inside.ts';
import { evaluate } from '../trial/index.ts';
import { provenanceOfAll } from './provenance.ts';
import { homeParts, moneyParts } from './report-parts.ts';
import { stepsOf } from './steps.ts';
import type { TariffChoiceReport } from './tariff-choice-schema.ts';
import {
  cheapestOpen,
  conclusionOf,
  refuseAsunder,
  rowOf,
  sourceOf,
  switchDayOf,
  todayOf,
  warningsOn,
} from './tariff-switch.ts';

/**
 * What switching tariffs gives a home that has no battery, and planned solar where there is some. A battery that the
 * studies state is left out.
 *
 * @throws InputError as {@link tariffSwitch}
 * @param choices the same home under each of the tariffs, its present one first
 */
export function tariffChoice(choices: readonly Study[]): TariffChoiceReport {
  check({ choices }, { choices: list(aHome, { least: 1 }) });
  refuseAsunder(choices);
  const studies = choices.map((study) => ({ ...study, successors: [...study.successors, ...choices.map(sourceOf)] }));
  const today = studies[0]!;
  const switchOn = formatDate(dateOfCivilDay(switchDayOf(today)));
  const rows = studies.map((study) =>
    rowOf(study, { plain: evaluate(study.home, none, ['lines']).lines.total, battery: undefined }, today, switchOn),
  );
  const best = cheapestOpen(rows);
  const on = { tariff: best.tariff, strategy: null };
  const steps = stepsOf(
    [
      { step: 'today', tariff: rows[0]!.tariff, strategy: null, total: rows[0]!.withoutBattery },
      { step: 'best-tariff', ...on, total: best.withoutBattery },
      ...(best.withPlannedSolar === null
        ? []
        : [{ step: 'planned-solar' as const, ...on, total: best.withPlannedSolar }]),
    ],
    today.home.tariff.currencyDecimals,
  );
  const { provenance: _, ...home } = homeParts(today);
  return ownCopy({
    format: 'duskbank.tariff-choice/1',
    ...home,
    provenance: provenanceOfAll(studies.map((study) => homeParts(study).provenance)),
    tariff: today.tariff.name,
    ...moneyParts(today.home.tariff),
    basis: 'the metered past on each tariff, without a battery; it is taken that the household would live the same',
    tariffSwitch: {
      switchOn,
      ...todayOf(today),
      tariffs: [rows[0]!, ...rows.slice(1).sort((a, b) => a.withoutBattery - b.withoutBattery)],
      steps,
      betterWithBattery: null,
      runnerUp: null,
      conclusion: conclusionOf(
        { steps, rows, best, betterWithBattery: null, switchOn },
        today,
        'what a battery would add isn’t asked: the site states none',
      ),
    },
    warnings: [
      ...today.warnings,
      ...studies.slice(1).flatMap(({ tariff, warnings }) => warningsOn({ tariff: tariff.name, warnings }, today)),
    ],
  });
}
