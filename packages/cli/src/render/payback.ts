import { quoteName } from '@duskbank/core/input';
import type { CompareReport } from '@duskbank/core/study';
import { fixed, money } from './numbers.ts';
import { spanOf } from './span.ts';
import { wrap } from './text.ts';

type Life = NonNullable<NonNullable<CompareReport['payback']>['life']>;

/** Told wherever years are told that no stated life bears out. */
const LIFE_UNKNOWN =
  'No warranty, cycle life or age is stated for the battery (economics.warrantyYears, cycleLife, calendarYears): whether it lasts that long isn’t known.';

/** The payback and its limit in one line; what it rests on is {@link paybackText}'s. */
export function paybackLine(report: CompareReport): string | undefined {
  const { payback, currency, currencyDecimals: decimals, headline } = report;
  if (payback === null) return undefined;
  const { cost, years, life, verdict, recovered, validUntil } = payback;
  const paid = money(cost, currency, decimals);
  const under = payback.strategy === headline?.strategy ? '' : ` under ${quoteName(payback.strategy)}`;
  const on = payback.tariff === report.tariff ? '' : ` on ${quoteName(payback.tariff)}`;
  const said = wordsOf(report.axis);
  if (years !== null) {
    const warranty = life?.warrantyYears ?? Number.POSITIVE_INFINITY;
    const lasts = life === null || life.setBy === 'age' ? 'if it lasts that long' : 'within its stated life';
    return wrap(
      `${said.limit}${paid} ${said.come} back in ${said.years(years)}${under}${on}, prices as now, ${lasts}${years > warranty ? `, ${said.years(years - warranty)} after its warranty` : ''}.`,
    );
  }
  if (verdict === 'beyond-life')
    return wrap(`${said.limit}${paid} ${said.comeNot} back within ${limitOf(payback)}, prices as now.`);
  return wrap(
    recovered === null
      ? said.begin(`Under ${quoteName(payback.strategy)} it ${said.neverPays} back ${paid}, prices as now.`)
      : `No payback is claimed: what follows on the tariff’s end on ${validUntil} is not known.`,
  );
}

/** How a payback is told: of less than a year it is a guess, which each sentence says first, and without decimals. */
function wordsOf({ isYear, spanDays }: CompareReport['axis']) {
  if (isYear)
    return {
      limit: '',
      begin: (sentence: string) => sentence,
      years: (years: number) => `${fixed(years, 1)} years`,
      come: 'come',
      comeNot: 'do not come',
      have: 'have',
      neverPays: 'never pays',
      saves: 'saves',
    };
  const limit = `Scaled from ${fixed(spanDays, 0)} ${fixed(spanDays, 0) === '1' ? 'day' : 'days'} of data, which no year need be like: `;
  return {
    limit,
    begin: (sentence: string) => `${limit}${sentence[0]!.toLowerCase()}${sentence.slice(1)}`,
    years: (years: number) =>
      years < 0.5 ? 'less than half a year' : `about ${fixed(years, 0)} ${years < 1.5 ? 'year' : 'years'}`,
    come: 'would come',
    comeNot: 'would not come',
    have: 'would have',
    neverPays: 'would never pay',
    saves: 'would save',
  };
}

type Payback = NonNullable<CompareReport['payback']>;

/** How long it was given to pay back. */
function limitOf({ life, limitYears }: Payback): string {
  return life === null || life.setBy === 'age' ? `${fixed(limitYears, 0)} years` : 'its stated life';
}

/** Whether and when it pays back, over the tariff's scheduled life; nothing where there is no price. */
export function paybackText(report: CompareReport): string | undefined {
  const { payback, currency, currencyDecimals: decimals, tariff: present } = report;
  if (payback === null) return undefined;
  const { cost, years, life, stretches, validUntil, recovered, savedByFirstEnd, basis } = payback;
  const last = stretches[stretches.length - 1]!;
  const paid = money(cost, currency, decimals);
  const on = payback.tariff === present ? '' : ` on ${quoteName(payback.tariff)}`;
  const reckoned =
    stretches.length === 1
      ? ''
      : ` Reckoned from ${payback.from}: ${stretches
          .map(
            ({ until, tariff, strategy, savingsPerYear }, k) =>
              `${k === 0 ? `${currency} ` : ''}${fixed(savingsPerYear, decimals)} a year on ${quoteName(tariff)} as ${quoteName(strategy)}${until === null ? '' : ` until ${until}`}`,
          )
          .join(', then ')}.`;
  const said = wordsOf(report.axis);
  const counted = `${basis}.${reckoned}`;
  const parts: string[] = [];
  if (years !== null) {
    const before = validUntil === null ? '' : `, before ${quoteName(last.tariff)} changes or ends on ${validUntil}`;
    parts.push(
      `${said.limit}${paid} ${said.come} back in ${said.years(years)} under ${quoteName(payback.strategy)}${on}${before}: ${counted}`,
      life === null
        ? LIFE_UNKNOWN
        : `${withinLife(years, life)}.${savedByFirstEnd === null ? '' : ` By ${ENDS[life.firstEnd.of]} it ${said.saves} ${money(savedByFirstEnd, currency, decimals)}.`}`,
    );
  } else if (payback.verdict === 'beyond-life')
    parts.push(
      `${said.limit}${paid} ${said.comeNot} back within ${limitOf(payback)} under ${quoteName(payback.strategy)}${on}${life === null ? '' : ` (${lifeText(life)})`}${savedByFirstEnd === null ? '' : `; by ${life === null ? 'then' : ENDS[life.firstEnd.of]} ${money(savedByFirstEnd, currency, decimals)} ${said.have}`}: ${counted}`,
      ...(life === null ? [LIFE_UNKNOWN] : []),
    );
  else if (recovered !== null)
    parts.push(
      `${said.begin('No')} payback is claimed: ${quoteName(last.tariff)} ends on ${validUntil}, and what follows is not known. By then ${money(recovered, currency, decimals)} of ${paid} ${said.have} come back, counted from ${payback.from}: ${counted}`,
    );
  else
    parts.push(
      `${said.begin(`Under ${quoteName(payback.strategy)} it ${said.neverPays} back ${paid}${on}`)}: ${counted}`,
    );
  return [...parts, ...beside(report)].map((part) => wrap(part)).join('\n');
}

/** That it comes back while the battery lasts, and whether its warranty has ended by then. */
function withinLife(years: number, life: Life): string {
  const { warrantyYears } = life;
  const isInWarranty = warrantyYears === null || years <= warrantyYears;
  const lasts = life.setBy === 'age' ? 'how long it lasts, used or not, isn’t stated' : 'within its stated life';
  const [first, rest] = isInWarranty
    ? [lasts, life]
    : [
        `that is after its warranty, which ends after ${fixed(warrantyYears, 1)} years, and ${lasts}`,
        { ...life, warrantyYears: null },
      ];
  return `${first[0]!.toUpperCase()}${first.slice(1)}: ${lifeText(rest)}`;
}

/** What a life's first end is called. */
const ENDS: Record<Life['setBy'], string> = {
  cycles: 'the end of its cycles',
  warranty: 'the end of its warranty',
  calendar: 'the end of its stated years',
  age: 'then',
};

/** What limits the battery's life, the least first; last that no more years count where its age isn't stated. */
function lifeText({ cycleYears, warrantyYears, calendarYears, years: lifeYears, setBy }: Life): string {
  const limits: [number | null, string][] = [
    [cycleYears, 'used so, its cycles are up after'],
    [warrantyYears, 'the warranty ends after'],
    [calendarYears, 'it is stated to last'],
  ];
  const stated = limits
    .filter((limit): limit is [number, string] => limit[0] !== null)
    .sort((a, b) => a[0] - b[0])
    .map(([years, words]) => `${words} ${fixed(years, 1)} years`);
  const most = setBy === 'age' ? [`without calendarYears no more than ${fixed(lifeYears, 0)} years count`] : [];
  return [...stated, ...most].join(', ');
}

/** What the choice of tariff gives alone, and the second best choice with a battery; where tariffs are compared. */
function beside({ tariffSwitch, currency, currencyDecimals: decimals, axis }: CompareReport): string[] {
  if (tariffSwitch === null) return [];
  const { factor, words } = spanOf(axis);
  const { runnerUp, steps } = tariffSwitch;
  const alone = steps.find(({ step }) => step === 'best-tariff')!;
  const lines: string[] = [];
  if (alone.change < 0)
    lines.push(
      `The tariff alone, without spending anything: ${quoteName(alone.tariff)} saves ${money(-factor * alone.change, currency, decimals)} ${words}.`,
    );
  if (runnerUp !== null)
    lines.push(
      `Second best with the battery: ${quoteName(runnerUp.tariff)} run as ${quoteName(runnerUp.strategy)}, ${money(factor * runnerUp.total, currency, decimals)} ${words}.`,
    );
  return lines;
}
