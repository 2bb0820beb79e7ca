import { quoteName } from '@duskbank/core/input';
import type { CheckReport } from '@duskbank/core/study';
import { plantText, spanText } from './home.ts';
import { fixed, percent } from './numbers.ts';
import { nameHeading, quoteNames, wrap } from './text.ts';

type Part<Kind extends 'site' | 'tariff' | 'intervals' | 'prices'> = NonNullable<CheckReport[Kind]>;

/** What a file was understood to say; nothing where it couldn't be read. Its faults are told apart. */
export function checkText({ site, tariff, intervals, prices }: CheckReport): string {
  if (site !== null) return siteText(site);
  if (tariff !== null) return [tariffText(tariff), ...(prices ?? []).map(pricesText)].join('\n');
  if (prices !== null) return prices.map(pricesText).join('\n');
  return intervals === null ? '' : intervalsText(intervals);
}

/** A site that was read: what Duskbank takes it to say. */
function siteText(site: Part<'site'>): string {
  const indent = '           ';
  const { plannedSolar: planned, peakWindows: peaks } = site;
  const lines = [
    nameHeading(site.name),
    wrap(`  data     ${spanText(site.axis)}`, 80, indent),
    site.loadKnown
      ? `  energy   load ${fixed(site.loadKwh, 0)} kWh, solar ${fixed(site.solarKwh, 0)} kWh`
      : `  energy   net import ${fixed(site.loadKwh, 0)} kWh, surplus ${fixed(site.solarKwh, 0)} kWh; load not known`,
    ...(site.estimatedOwnUseKwh === undefined
      ? []
      : [
          wrap(
            `  own use  ${fixed(site.estimatedOwnUseKwh, 0)} kWh of solar estimated, not metered, in neither of these`,
            80,
            indent,
          ),
        ]),
    ...(planned === null
      ? []
      : [wrap(`  planned  solar ${fixed(planned.solarKwh, 0)} kWh more, ${planned.basis}`, 80, indent)]),
    `  filled   ${percent(site.estimatedShare, 2)} of intervals estimated`,
    wrap(
      `  tariff   ${quoteName(site.tariff)}, ${site.currency}, ${site.billingPeriods} billing periods, ${
        peaks.length > 0 ? `on-peak: ${quoteNames(peaks)}` : 'no on-peak window'
      }`,
      80,
      indent,
    ),
    wrap(
      `  battery  ${site.plant === null ? 'none stated: bills, tariffs and the load in an outage are answered without one' : plantText(site.plant)}`,
      80,
      indent,
    ),
    ...(site.backupBasis === null ? [] : [wrap(`  backup   ${site.backupBasis}`, 80, indent)]),
    ...site.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')),
  ];
  return lines.join('\n');
}

/** A tariff file that was read. */
function tariffText(tariff: Part<'tariff'>): string {
  return [
    wrap(`${quoteName(tariff.name)}: a tariff in ${tariff.currency} that holds every minute of every day once`),
    ...tariff.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')),
  ].join('\n');
}

/** A file of prices that was read. */
function pricesText({ file, firstDay, lastDay, stepMinutes, ...all }: Part<'prices'>[number]): string {
  const { prices, missing, leastPerKwh, meanPerKwh, mostPerKwh } = all;
  const figures =
    meanPerKwh === null
      ? ''
      : `; a kWh costs ${leastPerKwh} to ${mostPerKwh}, ${meanPerKwh} in the mean`.replaceAll(' -', ' −');
  const gaps = missing === 0 ? '' : `, ${fixed(missing, 0)} missing`;
  return wrap(
    `${file}: ${fixed(prices, 0)} prices of ${stepMinutes} minutes from ${firstDay} to ${lastDay}${gaps}${figures}`,
    80,
    '  ',
  );
}

/** An interval file that was read, or why it can't be. */
function intervalsText({ layout, axis, channels, findings }: Part<'intervals'>): string {
  const indent = '         ';
  const lines = [
    `layout   ${layout.name}`,
    ...layout.evidence.map((evidence) => wrap(`${indent}${evidence}`, 80, indent)),
  ];
  if (axis !== null) lines.push(wrap(`data     ${spanText(axis)}, ${fixed(axis.intervals, 0)} intervals`, 80, indent));
  for (const { channel, kwh, gaps } of channels)
    lines.push(
      `${channel.padEnd(8)} ${fixed(kwh, 1)} kWh${gaps > 0 ? `, ${fixed(gaps, 0)} intervals without a value` : ''}`,
    );
  for (const finding of findings) {
    if (finding.severity === 'error') continue;
    const where =
      finding.lines === undefined
        ? ''
        : ` (line ${finding.lines.slice(0, 3).join(', ')}${finding.lines.length > 3 ? ' …' : ''})`;
    lines.push(wrap(`${finding.severity === 'warning' ? '!' : '·'} ${finding.message}${where}`, 80, '  '));
  }
  return lines.join('\n');
}
