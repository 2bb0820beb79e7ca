import { type Axis, formatDate } from '@duskbank/core/axis';
import { CHANNELS, channelField, type IntervalData } from '@duskbank/core/meter';
import { hoursAtFullOutput, hoursToFill, powerLimits } from '@duskbank/core/plant';
import { type Study, standingFloor } from '@duskbank/core/study';
import type { Tariff } from '@duskbank/core/tariff';
import { fixed, hours, percent } from './numbers.ts';
import { wrap } from './text.ts';

/** `2025-01-01 to 2025-12-31, 365 days of 15 minutes, America/Denver` */
export function spanText(axis: Axis): string {
  const { days } = axis.calendar;
  return `${formatDate(days[0]!)} to ${formatDate(days[days.length - 1]!)}, ${days.length} days of ${axis.stepMinutes} minutes, ${axis.zone}`;
}

/** The battery in words: energy, power and what sets it, times at full power. */
export function plantText(study: Study): string {
  const { plant } = study.home;
  const section = study.site.plant;
  const { units, modules } = section.battery;
  const limits = powerLimits(section);
  const added =
    modules !== undefined && modules.perUnit > 0
      ? ` with ${modules.perUnit} added module${plural(modules.perUnit)} each`
      : '';
  const { floorKwh, floorRises } = standingFloor(study);
  return (
    `${units} unit${plural(units)}${added}, ${fixed(plant.capacityKwh, 1)} kWh usable, ` +
    `${fixed(plant.dischargeLimitKw, 2)} kW out (set by the ${limits.discharge.setBy}), ` +
    `${fixed(plant.chargeLimitKw, 2)} kW in (${limits.charge.setBy}): ${hours(hoursAtFullOutput(plant))} at full ` +
    `output, ${hours(hoursToFill(plant))} to fill. Reserve floor ${fixed(floorKwh, 1)} kWh${floorRises ? ', and more at dates' : ''}.`
  );
}

/** A site that was read: what Duskbank takes it to say. */
export function studyText(study: Study): string {
  const { home, island } = study;
  const { axis, tariff } = home;
  const sum = (values: Float64Array) => values.reduce((total, value) => total + value, 0);
  const peaks = tariff.windows.filter((window) => window.kind === 'peak').map((window) => window.name);
  const lines = [
    wrap(study.site.name),
    `  data     ${spanText(axis)}`,
    study.loadKnown
      ? `  energy   load ${fixed(sum(home.loadKwh), 0)} kWh, solar ${fixed(sum(study.meteredSolarKwh), 0)} kWh`
      : `  energy   net import ${fixed(sum(home.loadKwh), 0)} kWh, surplus ${fixed(sum(study.meteredSolarKwh), 0)} kWh; load not known`,
    ...(study.plannedSolar === undefined
      ? []
      : [
          wrap(
            `  planned  solar ${fixed(sum(study.plannedSolar.solarKwh), 0)} kWh more, ${study.plannedSolar.basis}`,
            80,
            '           ',
          ),
        ]),
    `  filled   ${percent(study.estimatedShare, 2)} of intervals estimated`,
    wrap(
      `  tariff   ${tariff.name}, ${tariff.currency}, ${tariff.periods.length} billing periods, ${
        peaks.length > 0 ? `on-peak: ${[...new Set(peaks)].join(', ')}` : 'no on-peak window'
      }`,
      80,
      '           ',
    ),
    wrap(`  battery  ${plantText(study)}`, 80, '           '),
    wrap(`  backup   ${island.basis}`, 80, '           '),
    ...study.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')),
  ];
  return lines.join('\n');
}

/** A tariff file that was read. */
export function tariffText(tariff: Tariff): string {
  return wrap(`${tariff.name}: a tariff in ${tariff.currency} that holds every minute of every day once`);
}

/** An interval file that was read, or why it can't be. */
export function intervalsText(data: IntervalData): string {
  const lines = [
    `layout   ${data.layout.name}`,
    ...data.layout.evidence.map((evidence) => wrap(`         ${evidence}`, 80, '         ')),
  ];
  const { series } = data;
  if (series !== undefined) {
    lines.push(
      wrap(`data     ${spanText(series.axis)}, ${fixed(series.axis.intervals, 0)} intervals`, 80, '         '),
    );
    for (const channel of CHANNELS) {
      const values = series[channelField(channel)];
      if (values === undefined) continue;
      let kwh = 0;
      let gaps = 0;
      for (const value of values)
        if (Number.isNaN(value)) gaps++;
        else kwh += value;
      lines.push(
        `${channel.padEnd(8)} ${fixed(kwh, 1)} kWh${gaps > 0 ? `, ${fixed(gaps, 0)} intervals without a value` : ''}`,
      );
    }
  }
  for (const finding of data.findings) {
    if (finding.severity === 'error') continue;
    const where =
      finding.lines === undefined
        ? ''
        : ` (line ${finding.lines.slice(0, 3).join(', ')}${finding.lines.length > 3 ? ' …' : ''})`;
    lines.push(wrap(`${finding.severity === 'warning' ? '!' : '·'} ${finding.message}${where}`, 80, '  '));
  }
  return lines.join('\n');
}

function plural(count: number): string {
  return count === 1 ? '' : 's';
}
