import { quoteName } from '@duskbank/core/input';
import { APPLIANCES } from '@duskbank/core/outage';
import type { CircuitsReport } from '@duskbank/core/study';
import { otherCautions } from './cautions.ts';
import { equipmentText } from './home.ts';
import { fixed, fixedBound, hours, sharePercent } from './numbers.ts';
import { circuitNames, monthList } from './storm.ts';
import { cellName, heading, nameHeading, quoteNames, table, wrap } from './text.ts';

/** The report for people: dangers first, then what runs together, alone, never, and what the panel says. */
export function circuitsText(report: CircuitsReport): string {
  const parts = [`${nameHeading(report.site, ': what the battery can carry')}\n${wrap(answer(report))}`];
  const medical = report.cautions.find((caution) => caution.code === 'medical');
  if (medical !== undefined) parts.push(wrap(`! ${medical.text}`, 80, '  '));
  const hazards = report.findings.filter((finding) => finding.severity === 'hazard');
  if (hazards.length > 0) parts.push(hazards.map((hazard) => wrap(`! DANGER: ${hazard.message}`, 80, '  ')).join('\n'));
  parts.push(output(report), verdicts(report));
  const questions = report.findings.filter((finding) => finding.severity === 'question');
  if (questions.length > 0)
    parts.push(
      `${heading('Please check')}\n${questions.map((question) => wrap(`? ${question.message}`, 80, '  ')).join('\n')}`,
    );
  const ofCircuits = report.circuits.flatMap((circuit) =>
    circuit.assumed.map((text) => `${quoteName(circuit.name)}: ${text}`),
  );
  const assumed = [...ofCircuits, ...report.output.assumed];
  if (assumed.length > 0)
    parts.push(
      `${heading('Taken because the site file doesn’t say')}\n${assumed.map((text) => wrap(`- ${text}`, 80, '  ')).join('\n')}`,
    );
  parts.push(panel(report), ways(report), siting(report));
  parts.push(otherCautions(report.cautions));
  return parts.join('\n\n');
}

/** Which circuits can be carried, in a sentence. */
function answer({ circuits, splitPhase }: CircuitsReport): string {
  const of = (verdict: CircuitsReport['circuits'][number]['verdict']) =>
    circuits.filter((circuit) => circuit.verdict === verdict).map((circuit) => circuit.name);
  const [alone, never] = [of('alone'), of('never')];
  const parts = [
    `${of('together').length} of ${circuits.length} circuits run together${splitPhase ? '' : ' on one phase'}`,
  ];
  if (alone.length > 0) parts.push(`only with others off: ${quoteNames(alone)}`);
  if (never.length > 0) parts.push(`not at all: ${quoteNames(never)}`);
  return `${parts.join('; ')}. Estimates; for how long, see "duskbank outage".`;
}

function output(report: CircuitsReport): string {
  const { output: out, totals, splitPhase } = report;
  const surge =
    out.surgeVa > out.continuousVa
      ? `${kva(out.surgeVa)} kVA to start motors${out.surgeSeconds === undefined ? '' : ` for ${out.surgeSeconds} s`}`
      : 'nothing more to start motors';
  const arrangement = {
    pooled: 'all units feed both legs',
    'unit-per-leg': 'one 120 V unit holds each leg: not a pool, and no 240 V',
    'one-leg': 'one 120 V output feeds both legs: no 240 V',
  }[out.arrangement];
  const legs = splitPhase ? `, ${kva(out.legVa)} kVA a leg` : '';
  const { L1, L2 } = totals.legVa;
  // Each is a bound of its own, so that two legs may print more than both.
  const isMore = Math.abs(Number(kvaUp(L1)) + Number(kvaUp(L2)) - Number(kvaUp(totals.togetherVa))) > 0.05;
  const onLegs = splitPhase ? ` (L1 ${kvaUp(L1)}, L2 ${kvaUp(L2)}${isMore ? ', each rounded up' : ''})` : '';
  return wrap(
    `Output: ${kva(out.continuousVa)} kVA continuous${legs}, ${surge}${splitPhase ? `; ${arrangement}` : ''}. Those that run together draw at most ${kvaUp(totals.togetherVa)} kVA${onLegs}, ${kvaUp(totals.hardestStartVa)} kVA with the hardest start on top.`,
  );
}

const VERDICTS = [
  ['together', 'Runs together'],
  ['alone', 'Only with others above it off'],
  ['never', 'Not at all: more than the equipment gives'],
] as const;

/** What runs together, alone, never; a reason, where there is one, stands on the line below. */
function verdicts(report: CircuitsReport): string {
  const listed = VERDICTS.flatMap(([verdict, title]) =>
    report.circuits.filter((circuit) => circuit.verdict === verdict).map((circuit) => ({ title, circuit })),
  );
  const rows: (string[] | string)[] = [];
  for (const [r, { title, circuit }] of listed.entries()) {
    if (r === 0 || listed[r - 1]!.title !== title) rows.push(heading(title));
    const before = listed[r - 1]?.circuit.name;
    rows.push([
      circuit.sharesNeutral !== null && circuit.sharesNeutral === before
        ? `  and ${cellName(circuit.name)}`
        : `  ${cellName(circuit.name)}`,
      circuit.leg === '240' ? `${report.measured.volts} V` : circuit.leg,
      kva(circuit.runningVa),
      circuit.startVa === null ? '?' : kva(circuit.startVa),
      fixed(circuit.meanW, 0),
      tags(circuit),
    ]);
    if (circuit.reasons[0] !== undefined) rows.push(wrap(`      ${circuit.reasons[0]}`, 80, '      '));
  }
  return table(
    [
      { head: 'circuit' },
      { head: 'leg' },
      { head: 'kVA', align: 'right' },
      { head: 'kVA at\nstart', align: 'right' },
      { head: 'mean W', align: 'right' },
      { head: 'let go,\nhighest first' },
    ],
    rows,
  );
}

function tags(circuit: CircuitsReport['circuits'][number]): string {
  if (circuit.medical) return 'medical';
  return circuit.neverShed ? 'never' : String(circuit.priority);
}

function panel(report: CircuitsReport): string {
  const lines: string[] = [];
  if (report.main !== null)
    lines.push(
      `The main breaker permits ${kvaDown(report.main.balancedVa)} kVA${report.splitPhase ? ' balanced' : ''}, ${kvaDown(report.main.continuousVa)} kVA for three hours or more.`,
    );
  for (const check of report.panel) {
    const verdict = { true: 'fits: ', false: '! TOO MUCH: ', null: '' }[
      String(check.fits) as 'true' | 'false' | 'null'
    ];
    const rest =
      check.fits === null ? ', without the rest of the home: what fits is for a load calculation to say' : '';
    lines.push(
      `${verdict}${check.what}: ${fixed(check.neededAmps, 1)} A ${report.splitPhase ? `on the heavier leg, at its ${report.measured.volts / 2} V` : `at ${report.measured.volts} V`}${rest}.`,
    );
  }
  if (report.panel.length > 0)
    lines.push(
      `These hold with the grid up, when the panel feeds all ${report.circuits.length} listed circuits, whatever the battery carries; all that can run at a time are taken to run, those on for three hours or more and the largest motor at 125 %, no demand factor taken off. The local code and a licensed electrician decide.`,
    );
  if (report.busbar !== null) lines.push(busbar(report.busbar, report));
  if (report.calculated !== null)
    lines.push(
      `Calculated load, estimate: ${kva(report.calculated.totalVa)} kVA, ${fixed(report.calculated.amps, 0)} A at ${report.calculated.volts} V (${quoteName(report.calculated.method)}; ${report.calculated.climateVa > 0 ? quoteName(report.calculated.climateBy) : report.calculated.climateBy}).`,
    );
  const doubts = report.measured.doubts.length > 0 ? `; ${report.measured.doubts.join('; ')}` : '';
  lines.push(
    `Metered maximum ${fixed(report.measured.maximumKw, 1)} kW × 125 % = ${kva(report.measured.totalVa)} kVA, ${fixed(report.measured.amps, 0)} A at ${report.measured.volts} V, estimate${doubts}.`,
  );
  if (report.wiringRules !== 'us')
    lines.push(
      report.panel.length > 0
        ? 'These shares (80 % and 125 % of what is continuous, 120 % of a busbar, 125 % of the metered maximum) are as reckoned in the United States; your code counts.'
        : 'These 125 % are as reckoned in the United States; your code counts.',
    );
  return `${heading('Panel')}\n${lines.map((line) => wrap(line, 80, '  ')).join('\n')}`;
}

/** The busbar question: other sources, existing solar first. */
function busbar(
  { sourcesAmps, withSolar, busbarAmps, leavesAmps, fits }: NonNullable<CircuitsReport['busbar']>,
  { wiringRules, output: { arrangement }, measured: { volts } }: CircuitsReport,
): string {
  const sources = withSolar ? 'solar and battery' : 'the battery';
  // What is needed is rounded up, what is left down: rounded otherwise one would fit that doesn't.
  const needed = Math.ceil(sourcesAmps - 1e-9);
  const leaves = Math.floor(leavesAmps + 1e-9);
  const needs = `${sources} need${withSolar ? '' : 's'} ${withSolar ? 'at least ' : ''}${needed} A (125 % of their output at ${arrangement === 'one-leg' ? `one leg’s ${volts / 2} V` : `${volts} V`}${withSolar ? ', solar by its highest interval' : ''})`;
  if (fits === null)
    return `? Busbar not stated: ${needs}; one rated as the main breaker leaves ${leaves} A. Read its label and ask before quoting ("backup.panel.busbarAmps").`;
  // The arithmetic is one country's; elsewhere it is told as what it is, and which rules count.
  const rule =
    wiringRules === 'us'
      ? 'NEC 705.12, the 120 % rule, sources at the end opposite to the main breaker'
      : 'sources within 120 % of the busbar, at the end opposite to the main breaker; the local wiring rules count';
  return fits
    ? `fits: busbar, ${fixed(busbarAmps!, 0)} A: ${needs} of ${leaves} A that it leaves beside the main breaker (${rule}).`
    : `! TOO MUCH: busbar, ${fixed(busbarAmps!, 0)} A: ${needs}, and it leaves ${leaves} A beside the main breaker (${rule}). A smaller main breaker, another busbar or a connection before the main breaker are the usual ways out.`;
}

function ways(report: CircuitsReport): string {
  const rows = report.ways.map((way) => [
    `${way.way === 'sub-panel' ? 'sub-panel' : 'whole panel'}${way.way === report.chosenWay ? ' (this site)' : ''}`,
    kva(way.loadVa),
    way.fits === null
      ? 'not known'
      : way.fits
        ? 'yes'
        : way.toManageVa > 0
          ? `${kvaUp(way.toManageVa)} kVA too much`
          : 'no',
    ...(report.medical
      ? []
      : [
          way.units === null ? (way.lacks === 'unknown' ? 'not known' : 'none') : String(way.units),
          way.modulesPerUnit === null ? '' : String(way.modulesPerUnit),
        ]),
  ]);
  const open = report.ways.map((way) => needed(way, report));
  // What both ways leave open is said once.
  const same = open.length > 1 && open[0] !== '' && open.every((each) => each === open[0]);
  return [
    heading('Two ways to back the home up'),
    table(
      [
        { head: 'way' },
        { head: 'load\nkVA', align: 'right' },
        { head: 'fits\nnow', align: 'right' },
        ...(report.medical
          ? []
          : [
              { head: `units to run all\nfor ${hours(report.goalHours)}, full`, align: 'right' as const },
              { head: 'modules\neach', align: 'right' as const },
            ]),
      ],
      rows,
    ),
    ...report.ways.map((way, k) =>
      wrap(
        `- ${way.way === 'sub-panel' ? 'Sub-panel' : 'Whole panel'}: ${way.basis}.${same || open[k] === '' ? '' : ` ${open[k]}`}`,
        80,
        '  ',
      ),
    ),
    ...(same ? [wrap(`Both ways: ${open[0]!.charAt(0).toLowerCase()}${open[0]!.slice(1)}`)] : []),
    ...(report.medical ? [] : [wrap(unitsBasis(report))]),
    wrap(
      `A transfer that connects loads by itself needs a source for all of them, or a load-management system that holds them down (${report.wiringRules === 'us' ? 'NEC 702.4' : 'the local wiring rules'}).`,
    ),
  ].join('\n');
}

/** What a number of units leaves open: why there is none, and what a storm asks beyond other days. */
function needed(way: CircuitsReport['ways'][number], report: CircuitsReport): string {
  const { medical, goalHours, hardAtWork, mayGrow } = report;
  if (medical) return '';
  const goal = hours(goalHours);
  const working = `with ${circuitNames(hardAtWork)} hard at work *`;
  const usual = way.usual === null ? '' : `${equipmentText(way.usual)} would do on other days`;
  const even = `even full${mayGrow ? ' and with all that may be added to it' : ''}`;
  if (way.lacks === 'output') return `Not with this equipment, ${even}: it can’t run and start all of that.`;
  if (way.lacks === 'energy')
    return usual === ''
      ? `Not with this equipment for ${goal}, ${even}.`
      : `Not with this equipment for ${goal} in a storm, ${working}, ${even}; ${usual}.`;
  if (way.units === null || hardAtWork.length === 0) return '';
  return way.usual!.units === way.units && way.usual!.modulesPerUnit === way.modulesPerUnit
    ? `That holds in a storm too, ${working}.`
    : `A storm, ${working}, asks for more: ${usual}.`;
}

/** What the units are counted for, and what `*` stands for. */
function unitsBasis({ goalHours, hardAtWork, stormMonths, mostUnits }: CircuitsReport): string {
  const season = stormMonths === null ? 'in any month' : `in ${monthList(stormMonths)}`;
  const storm = hardAtWork.length === 0 ? '' : `, and in a storm ${season} *`;
  const star =
    hardAtWork.length === 0
      ? ''
      : ` * ${hardAtWork.map((each) => `${quoteName(each.circuit)} on ${sharePercent(each.share)} of the time (${fixed(each.watts, 0)} W on average)`).join(', ')}.`;
  return `Units are those, of ${mostUnits} at the most, that run and start it on each leg and last ${hours(goalHours)} from full whenever the grid fails, without sun${storm}: the hungriest hours of the data count. What is left in 9 of 10 outages as the battery is run: "duskbank outage".${star}`;
}

function siting(report: CircuitsReport): string {
  return [
    heading('Where the equipment may stand: ask before it goes up; the local code decides'),
    ...report.siting.map((item) => wrap(`- ${item.question} ${item.usual} (${item.source})`, 80, '  ')),
  ].join('\n');
}

/** The starter list of common appliances. */
export function appliancesText(): string {
  const range = ([low, high]: readonly [number, number]) => (low === high ? String(low) : `${low}–${high}`);
  const rows = APPLIANCES.map((appliance) => [
    appliance.key,
    range(appliance.runningW),
    appliance.startingW === undefined ? '' : range(appliance.startingW),
    `${range(appliance.meanW)}${appliance.oldMeanW === undefined ? '' : ' †'}`,
    appliance.leg === '240' ? '240 V' : '120 V',
    appliance.nameplate ? 'read its LRA' : appliance.plannedVa === undefined ? '' : `${range(appliance.plannedVa)}*`,
  ]);
  const list = (of: (appliance: (typeof APPLIANCES)[number]) => readonly string[]) =>
    [...new Set(APPLIANCES.flatMap(of))].map((source) => wrap(`- ${source}`, 80, '  '));
  return [
    table(
      [
        { head: 'appliance' },
        { head: 'W while\nit runs', align: 'right' },
        { head: 'W while\nit starts', align: 'right' },
        { head: 'mean W\n(24 h)', align: 'right' },
        { head: 'leg' },
        { head: '' },
      ],
      rows,
    ),
    wrap(
      '* VA that sizing tables plan for while it runs, a defrost heater included: what fits is reckoned with these.',
    ),
    ...APPLIANCES.flatMap(({ name, oldMeanW }) =>
      oldMeanW === undefined
        ? []
        : [wrap(`† An old ${name.toLowerCase()} takes ${range(oldMeanW)} W on average: state its dutyShare.`)],
    ),
    ...APPLIANCES.flatMap(({ name, stormDutyShare }) =>
      stormDutyShare === undefined
        ? []
        : [
            wrap(
              `${name}: in a storm ${100 * stormDutyShare} % of the time, common practice, no source ("stormDutyShare").`,
            ),
          ],
    ),
    '',
    wrap(
      'What it draws while it runs and starts says what fits on the output at one time; its mean, over day and night in the season in which it is used, says how long the energy lasts.',
    ),
    '',
    wrap(
      'Published tables disagree by a factor of two and more, and their starting figures are far below what a large motor draws: a central air conditioner’s nameplate often says 70 to 100 A locked-rotor, 17 to 24 kVA (common practice). The nameplate decides.',
    ),
    'While it runs and starts:',
    ...list((appliance) => appliance.sources),
    'On average:',
    ...list((appliance) => appliance.meanSources),
  ].join('\n');
}

function kva(va: number): string {
  return fixed(va / 1000, 1);
}

/** What is drawn at most, kVA. */
const kvaUp = (va: number) => fixedBound(va / 1000, 'up', 1);

/** What is permitted, kVA. */
const kvaDown = (va: number) => fixedBound(va / 1000, 'down', 1);
