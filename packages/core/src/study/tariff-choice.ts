import { dateOfCivilDay, formatDate } from '../axis/index.ts';
import { none } from '../dispatch/index.ts';
import { check, list } from '../input/door.ts';
import { sameData } from '../input/same-data.ts';
import type { Study } from '../site/index.ts';
import { aHome } from '../site/inside.ts';
import { evaluate } from '../trial/index.ts';
import { onTariff } from '../words/study.ts';
import { provenanceOfAll } from './provenance.ts';
import { homeParts, moneyParts } from './report-parts.ts';
import { stepsOf } from './steps.ts';
import type { TariffChoiceReport } from './tariff-choice-schema.ts';
import { conclusionOf, refuseOtherCurrencies, rowOf, sourceOf, switchDayOf, todayOf } from './tariff-switch.ts';

/**
 * What switching tariffs gives a home that has no battery, and planned solar where there is some. A battery that the
 * studies state is left out.
 *
 * @throws InputError `currency-differs` where a tariff is in another currency than today's
 * @param choices the same home under each of the tariffs, its present one first
 */
export function tariffChoice(choices: readonly Study[]): TariffChoiceReport {
  check({ choices }, { choices: list(aHome, { least: 1 }) });
  refuseOtherCurrencies(choices);
  const studies = choices.map((study) => ({ ...study, successors: [...study.successors, ...choices.map(sourceOf)] }));
  const today = studies[0]!;
  const switchOn = formatDate(dateOfCivilDay(switchDayOf(today)));
  const rows = studies.map((study) =>
    rowOf(study, { plain: evaluate(study.home, none, ['lines']).lines.total, battery: undefined }, today, switchOn),
  );
  const open = rows.filter((row) => row.open);
  const best = open.reduce(
    (least, row) => (row.withoutBattery < least.withoutBattery ? row : least),
    open[0] ?? rows[0]!,
  );
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
  return {
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
    warnings: studies.flatMap((study, k) =>
      k === 0
        ? study.warnings
        : study.warnings
            .filter(
              ({ code, data }) => !today.warnings.some((known) => known.code === code && sameData(known.data, data)),
            )
            .map((warning) => ({ ...warning, message: onTariff(study.tariff.name, warning.message) })),
    ),
  };
}
