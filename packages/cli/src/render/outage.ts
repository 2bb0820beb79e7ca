import type { DatedStart, GoalMet, OutageReport, PlayedOutage, StrategyOutage } from '@duskbank/core/study';
import { otherCautions } from './cautions.ts';
import { carriedText } from './home.ts';
import { fixed, hours, money, percent } from './numbers.ts';
import { heading, table, wrap } from './text.ts';

/** The report for people: the two questions first, then what stands behind the answers. */
export function outageText(report: OutageReport): string {
  const row = report.strategies.find((each) => each.strategy === report.headline)!;
  const medical = report.cautions.find((caution) => caution.code === 'medical');
  const parts = [heading(`${report.site}: when the grid fails`)];
  if (medical !== undefined) parts.push(wrap(`! ${medical.text}`, 80, '  '));
  parts.push(howLong(report, row), keepOn(report), hourPrice(report));
  if (report.played !== null) parts.push(played(report.played));
  if (!report.medical) parts.push(byMonth(report, row), byHour(report), byLength(row, report.solarOnIsland));
  parts.push(worst(report, row), reserve(report), frontier(report), howOften(report));
  if (report.planned.length > 0) parts.push(planned(report));
  if (report.warnings.length > 0)
    parts.push(report.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')).join('\n'));
  parts.push(otherCautions(report.cautions));
  return parts.join('\n\n');
}

/** `Thu 2026-01-15 19:45` */
function when(start: DatedStart): string {
  return `${start.weekday} ${start.local}`;
}

function howLong(report: OutageReport, row: StrategyOutage): string {
  const cap = report.capHours;
  const planning = row.planningHours;
  const lines: string[][] = [];
  if (row.hours === null) {
    lines.push(['worst start, no sun, 80 % of capacity', hours(planning.hours, cap), when(planning)]);
    if (row.worstEvening !== null)
      lines.push(['worst weekday evening, the same', hours(row.worstEvening.hours, cap), when(row.worstEvening)]);
  } else {
    const { weekdayEvenings, allHours } = row.hours;
    if (row.worstEvening !== null)
      lines.push(
        ['on the worst weekday evening', hours(row.worstEvening.hours, cap), when(row.worstEvening)],
        ['on 9 of 10 weekday evenings, at least', hours(weekdayEvenings.p10, cap), 'Mon–Fri, 17:00 to 21:00'],
        ['on half of the weekday evenings, at least', hours(weekdayEvenings.median, cap), ''],
      );
    lines.push(
      [
        'at half of all hours, at least',
        hours(allHours.median, cap),
        allHours.median > weekdayEvenings.median ? 'flatters: noon counts too' : '',
      ],
      ['worst start, no sun, 80 % of capacity', hours(planning.hours, cap), when(planning)],
    );
  }
  const goals = goalLines(report);
  if (report.keepOn.length === 0)
    goals.push(
      'Means of an interval hide motor starts and short peaks that can trip the output: list the circuits to see.',
    );
  return [
    heading(`How long do I have${carriedText(report.carried).replace(' of ', ' with ')}, run as "${report.headline}"?`),
    table([{ head: 'if the power fails' }, { head: 'it lasts', align: 'right' }, { head: '' }], lines),
    ...goals.map((line) => wrap(line)),
    wrap(`${sentence(report.basis)} ${sentence(report.transfer.note)}`),
  ].join('\n');
}

/** How often the hours that the site asks for are met. */
function goalLines(report: OutageReport): string[] {
  const lines: string[] = [];
  const met = (goal: GoalMet) =>
    goal.eveningsShare === null
      ? `${percent(goal.allShare!)} of all starts`
      : `${percent(goal.eveningsShare)} of weekday evenings, ${percent(goal.allShare!)} of all hours`;
  if (report.goal !== null && report.goal.allShare !== null)
    lines.push(`The ${hours(report.goal.hours)} asked for are met on ${met(report.goal)}.`);
  if (report.keepHours !== null && report.keepHours.allShare !== null)
    lines.push(
      `The floor that is to keep ${hours(report.keepHours.hours)}, without sun, does so on ${met(report.keepHours)}.`,
    );
  return lines;
}

function keepOn(report: OutageReport): string {
  const head = heading('What may I keep on?');
  if (report.keepOn.length === 0)
    return `${head}\n${wrap('The site lists no circuits, so the load is one block. List them under "backup.circuits" to see which may stay on, and for how long (see `duskbank circuits --appliances`).')}`;
  const cap = report.capHours;
  const rows = report.keepOn.map((kept, k) => [
    `${k === 0 ? '' : '+ '}${kept.circuit}${kept.needsSomebodyHome ? ' *' : ''}`,
    watts(kept.totalW),
    ...(report.medical
      ? [hours(kept.planningHours, cap)]
      : [
          kept.worstEveningHours === null ? '' : hours(kept.worstEveningHours, cap),
          kept.evenings === null ? '' : hours(kept.evenings.p10, cap),
          kept.evenings === null ? '' : hours(kept.evenings.median, cap),
        ]),
  ]);
  const grid = table(
    [
      { head: 'keep on, from the top down' },
      { head: 'all so far\nmean draw', align: 'right' },
      ...(report.medical
        ? [{ head: 'worst start, no sun,\n80 % of capacity', align: 'right' as const }]
        : [
            { head: 'worst\nevening', align: 'right' as const },
            { head: '9 of 10\nevenings', align: 'right' as const },
            { head: 'half of\nevenings', align: 'right' as const },
          ]),
    ],
    rows,
  );
  const notes = [
    'Each line keeps on its circuit and all above it. What isn’t listed here doesn’t fit with them: see `duskbank circuits`.',
  ];
  if (report.keepOn.some((kept) => kept.needsSomebodyHome)) notes.push('* 0 h while nobody is home to switch over.');
  return `${head}\n${grid}\n${notes.map((text) => wrap(text)).join('\n')}`;
}

/** One outage, circuit by circuit. */
function played(outage: PlayedOutage): string {
  const rows = outage.circuits.map((circuit) => [
    circuit.name,
    circuit.firstLossHours >= outage.lengthHours
      ? 'never'
      : circuit.firstLossHours * 60 < 1
        ? 'at once'
        : `after ${hours(circuit.firstLossHours)}`,
    fixed(circuit.servedKwh, 1),
    fixed(circuit.unservedKwh, 1),
  ]);
  const notes = [
    outage.darkBy === null
      ? 'The island stays up.'
      : outage.darkBy === 'empty'
        ? `Dark after ${hours(outage.darkAfterHours)}, empty.`
        : `Dark after ${hours(outage.darkAfterHours)}, overloaded.`,
  ];
  if (outage.restarts > 0) notes.push(`Sun starts it again ${outage.restarts} times.`);
  if (outage.solarTrips > 0) notes.push(`Solar trips off a full battery ${outage.solarTrips} times.`);
  notes.push('Each circuit is let go below its own level of energy, where the site states one ("shedBelow").');
  return [
    heading(`Played through: ${when(outage.start)}, ${outage.lengthHours} h without the grid`),
    table(
      [
        { head: 'circuit' },
        { head: 'goes without', align: 'right' },
        { head: 'served kWh', align: 'right' },
        { head: 'missing kWh', align: 'right' },
      ],
      rows,
    ),
    wrap(notes.join(' ')),
  ].join('\n');
}

function hourPrice(report: OutageReport): string {
  const head = heading('What does an hour more cost me a year?');
  const decimals = report.currencyDecimals;
  if (report.medical)
    return `${head}\n${wrap('No price is given: all of the battery is kept for the circuit that is life-supporting or medical, and no lower reserve is weighed against money.')}`;
  const next = report.nextHour;
  const on = 'on 9 of 10 weekday evenings';
  if (next === null || next.pricePerHour === null) {
    const why = report.frontier.some((point) => point.strategies.some((row) => row.savingsPerYear === null))
      ? 'savings are withheld'
      : 'no higher reserve floor lasts longer';
    return `${head}\n${wrap(`No price is given: ${why}.`)}`;
  }
  const gained = fixed(next.hoursGained, 1);
  const text =
    next.costPerYear > 0
      ? `Keeping back ${percent(next.toFloorShare)} instead of ${percent(next.fromFloorShare)} lasts ${gained} h longer ${on} and saves ${money(next.costPerYear, report.currency, decimals)} a year less: ${money(next.pricePerHour, report.currency, decimals)} a year for an hour.`
      : `Nothing: keeping back ${percent(next.toFloorShare)} instead of ${percent(next.fromFloorShare)} lasts ${gained} h longer ${on} and saves no less.`;
  return `${head}\n${wrap(text)}`;
}

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

function byMonth(report: OutageReport, row: StrategyOutage): string {
  const cap = report.capHours;
  const rows = (row.slices?.eveningsByMonth ?? []).map((slice) => {
    const all = row.slices!.byMonth.find((month) => month.key === slice.key)!;
    return [
      MONTHS[slice.key - 1]!,
      hours(slice.least, cap),
      hours(slice.p10, cap),
      hours(slice.median, cap),
      hours(all.median, cap),
      percent(slice.survival[2]!),
      percent(slice.survival[5]!),
    ];
  });
  return [
    heading('By month'),
    table(
      [
        { head: '' },
        { head: 'weekday evenings\nworst', align: 'right' },
        { head: '9 of 10', align: 'right' },
        { head: 'half', align: 'right' },
        { head: 'all hours\nhalf', align: 'right' },
        { head: 'evenings that\nlast 4 h', align: 'right' },
        { head: 'last\n24 h', align: 'right' },
      ],
      rows,
    ),
  ].join('\n');
}

/** When it is short: a row an hour of the start, a column a month. */
function byHour(report: OutageReport): string {
  const cap = Math.round(report.capHours);
  const cell = (value: number | null) =>
    value === null ? '' : value >= report.capHours ? `${cap}+` : value.toFixed(value < 9.95 ? 1 : 0);
  const months = report.byMonthHour!.flatMap((row, m) => (row.every((value) => value === null) ? [] : [{ row, m }]));
  return [
    heading('When it is short: hours on 9 of 10 days, by hour of the start and month'),
    table(
      [{ head: 'hour' }, ...months.map(({ m }) => ({ head: MONTHS[m]!, align: 'right' as const }))],
      Array.from({ length: 24 }, (_, h) => [
        `${String(h).padStart(2, '0')}:00`,
        ...months.map(({ row }) => cell(row[h]!)),
      ]),
    ),
  ].join('\n');
}

function byLength(row: StrategyOutage, sunOnIsland: boolean): string {
  const { withSun, withoutSun } = row.unserved!;
  const rows = withSun.map((at, j) => [
    `${at.hours} h`,
    percent(at.carriedShare),
    fixed(at.meanKwh, 1),
    fixed(at.worstKwh, 1),
    ...(sunOnIsland ? [percent(withoutSun[j]!.carriedShare), fixed(withoutSun[j]!.meanKwh, 1)] : []),
  ]);
  return [
    heading('By length of the outage, starting at any hour'),
    table(
      [
        { head: 'outage' },
        { head: 'carried\nthrough', align: 'right' },
        { head: 'missing\nmean kWh', align: 'right' },
        { head: 'worst\nkWh', align: 'right' },
        ...(sunOnIsland
          ? [
              { head: 'no sun:\ncarried', align: 'right' as const },
              { head: 'missing\nmean kWh', align: 'right' as const },
            ]
          : []),
      ],
      rows,
    ),
  ].join('\n');
}

function worst(report: OutageReport, row: StrategyOutage): string {
  const cap = report.capHours;
  const rows = row.worstStarts.map((start) => [when(start), hours(start.hours, cap), fixed(start.reserveKwh, 1)]);
  return [
    heading(report.medical ? 'The worst starts, no sun, 80 % of capacity' : 'The worst starts'),
    table([{ head: 'start' }, { head: 'lasts', align: 'right' }, { head: 'reserve then, kWh', align: 'right' }], rows),
  ].join('\n');
}

function reserve(report: OutageReport): string {
  const situations = [
    ['endOfPeak', 'end of on-peak'],
    ['eventNights', 'event nights'],
    ['stormSeason', 'storm season'],
    ['allHours', 'all hours'],
  ] as const;
  const shown = situations.filter(([key]) => report.strategies.some((row) => row.reserve[key] !== undefined));
  const heads = report.medical ? ['least'] : ['9 of 10', 'half'];
  const rows = report.strategies.map((row) => [
    row.strategy,
    ...shown.flatMap(([key]) => {
      const summary = row.reserve[key];
      if (summary === undefined) return heads.map(() => '');
      const { minKwh, p10Kwh, medianKwh } = summary;
      return (report.medical ? [minKwh] : [p10Kwh, medianKwh]).map((kwh) => fixed(kwh, 1));
    }),
  ]);
  return [
    heading('Reserve that each strategy leaves, kWh deliverable'),
    table(
      [
        { head: 'strategy' },
        ...shown.flatMap(([, name]) =>
          heads.map((head, k) => ({ head: k === 0 ? `${name}\n${head}` : head, align: 'right' as const })),
        ),
      ],
      rows,
    ),
  ].join('\n');
}

function frontier(report: OutageReport): string {
  const cap = report.capHours;
  const decimals = report.currencyDecimals;
  const hasBound = report.frontier.some((point) => point.boundSavingsPerYear !== null);
  const rows = report.frontier.map((point) => {
    const row = point.strategies.find((each) => each.strategy === report.headline)!;
    return [
      percent(point.floorShare),
      row.savingsPerYear === null ? 'withheld' : fixed(row.savingsPerYear, decimals),
      ...(hasBound ? [point.boundSavingsPerYear === null ? '' : fixed(point.boundSavingsPerYear, decimals)] : []),
      ...(row.evenings === null
        ? [hours(row.planningHours, cap)]
        : [hours(row.evenings.p10, cap), hours(row.evenings.median, cap), hours(row.planningHours, cap)]),
    ];
  });
  return [
    heading(`Savings against hours, by reserve floor ("${report.headline}")`),
    ...(report.plant.floorRises
      ? [wrap('Each row keeps that much all year, and what the site keeps at dates above it, as the sheet does.')]
      : []),
    table(
      [
        { head: 'kept\nback', align: 'right' },
        { head: `saved a year\n${report.currency}`, align: 'right' },
        ...(hasBound ? [{ head: 'best in\nhindsight', align: 'right' as const }] : []),
        ...(report.medical
          ? []
          : [
              { head: '9 of 10\nevenings', align: 'right' as const },
              { head: 'half of\nevenings', align: 'right' as const },
            ]),
        { head: 'worst, no sun,\n80 %', align: 'right' },
      ],
      rows,
    ),
    ...(hasBound
      ? [wrap('Best in hindsight (and "optimum" above): no dispatch saves more with that floor. Nobody reaches it.')]
      : []),
  ].join('\n');
}

function howOften(report: OutageReport): string {
  const { reliability, bestFloor } = report;
  const kinds = reliability.kinds.map(
    (kind) => `${fixed(kind.perYear, 2)} ${kind.name} a year of ${fixed(kind.meanHours, 1)} h on average`,
  );
  const long = reliability.longerThan.map((point) => `${percent(point.share)} last over ${point.hours} h`);
  const spread = report.medical ? '' : ` Lengths vary widely: ${long.join(', ')}.`;
  const lines = [`${sentence(kinds.join(' and '))}${spread} Source: ${reliability.source}.`];
  if (reliability.unservedKwhPerYear !== null)
    lines.push(
      `Backed-up load that goes without in a year, expected: ${fixed(reliability.unservedKwhPerYear, 2)} kWh with the battery, ${fixed(reliability.unservedWithoutBatteryKwhPerYear, 2)} kWh without.`,
    );
  if (bestFloor !== null) {
    const value = money(bestFloor.valuePerKwh, report.currency, report.currencyDecimals);
    const same = bestFloor.lowShare === bestFloor.highShare;
    lines.push(
      `With a kWh not served worth ${value}, a floor of ${percent(bestFloor.floorShare)} costs least` +
        (same
          ? ', and still does with half or twice as much at stake.'
          : `; ${percent(bestFloor.lowShare)} with half as much at stake, ${percent(bestFloor.highShare)} with twice.`),
    );
  }
  lines.push(
    `After the power is back, filling up from empty takes ${hours(report.recharge.medianHours)}${report.recharge.longestHours > report.recharge.medianHours + 0.1 ? `, ${hours(report.recharge.longestHours)} at the longest` : ''}.`,
  );
  return `${heading('How often, how long')}\n${lines.map((line) => wrap(line)).join('\n')}`;
}

const PLANNED = {
  'in-time': 'notice is long enough',
  'too-late': 'notice is too short to fill up',
  'no-grid-charging': 'only sun can fill it: not to be relied on',
  'off-axis': 'outside the data',
};

function planned(report: OutageReport): string {
  const rows = report.planned.map((outage) => [
    outage.from.replace('T', ' '),
    `${outage.noticeHours} h`,
    outage.fillHours === null ? '' : hours(outage.fillHours),
    PLANNED[outage.verdict],
  ]);
  return [
    heading('Planned outages'),
    table(
      [{ head: 'from' }, { head: 'notice', align: 'right' }, { head: 'filling', align: 'right' }, { head: '' }],
      rows,
    ),
  ].join('\n');
}

function watts(value: number): string {
  return value < 1000 ? `${Math.round(value)} W` : `${fixed(value / 1000, 1)} kW`;
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
