// A zone that is stated, held against the clock that the labels of a file keep.
import { faultsOf, parseIntervalData } from '@duskbank/core/meter';
import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';

interface Told {
  readonly zone: string;
  readonly stepMinutes?: number;
  readonly ends?: boolean;
  readonly offsets?: boolean;
  readonly from?: string;
  readonly to?: string;
  /** Rows that the file lacks, by label. */
  readonly without?: RegExp;
}

/** A file as a portal in that zone writes it, by the clock on its wall. */
function file({
  zone,
  stepMinutes = 60,
  ends = false,
  offsets = false,
  from = '2025-01-01',
  to = '2026-01-01',
  without,
}: Told) {
  const rows: string[] = [];
  const end = DateTime.fromISO(to, { zone });
  for (let at = DateTime.fromISO(from, { zone }); at < end; at = at.plus({ minutes: stepMinutes })) {
    const label = (ends ? at.plus({ minutes: stepMinutes }) : at).toFormat(`yyyy-MM-dd'${offsets ? 'T' : ' '}'HH:mm`);
    const row = `${label}${offsets ? at.toFormat('ZZ') : ''},${(0.2 + ((rows.length * 29) % 48) / 100).toFixed(3)}`;
    if (without === undefined || !without.test(row)) rows.push(row);
  }
  return `${ends ? 'End' : 'Start'},Import (kWh)\n${rows.join('\n')}\n`;
}
const told = (text: string, zone: string, clock?: 'local' | 'standard') =>
  parseIntervalData(text, { zone, ...(clock === undefined ? {} : { clock }) });
const faultOf = (text: string, zone: string) =>
  told(text, zone).findings.find(({ code }) => code === 'zone-contradicted' || code === 'offsets-not-of-zone');

describe('a zone that the labels contradict', () => {
  test.each<[Told, string]>([
    [{ zone: 'Europe/Berlin' }, 'America/Denver'],
    [{ zone: 'Europe/Berlin', stepMinutes: 15 }, 'America/Denver'],
    [{ zone: 'Europe/Berlin', stepMinutes: 30, ends: true }, 'Europe/London'],
    [{ zone: 'America/Denver' }, 'America/Phoenix'],
    [{ zone: 'America/Denver', stepMinutes: 15, ends: true }, 'Europe/Berlin'],
    [{ zone: 'Australia/Sydney' }, 'Australia/Brisbane'],
    [{ zone: 'America/Chicago', from: '2025-09-01', to: '2025-12-01' }, 'Europe/Madrid'],
    [{ zone: 'Europe/Rome', from: '2025-02-01', to: '2025-05-01' }, 'America/New_York'],
  ])('%j as %s is refused', (from, zone) => {
    const { series, findings } = told(file(from), zone);
    expect(series).toBeUndefined();
    expect(findings.filter(({ severity }) => severity === 'error').map(({ code }) => code)).toEqual([
      'zone-contradicted',
    ]);
    expect(findings.find(({ code }) => code === 'zone-contradicted')!.message).toMatch(
      /^the labels (skip|repeat) .* the zone is not theirs$/,
    );
  });

  test('says on which dates, and which clocks change so', () => {
    expect(faultOf(file({ zone: 'Europe/Berlin' }), 'America/Denver')!.data).toEqual({
      zone: 'America/Denver',
      like: 'Europe/Berlin',
      skips: ['2025-03-30'],
      repeats: ['2025-10-26'],
      zoneChanges: ['2025-03-09', '2025-11-02'],
    });
  });

  test.each<[Told, string]>([
    // Its own zone, another of the same rule, and no change within the data.
    [{ zone: 'Europe/Berlin' }, 'Europe/Berlin'],
    [{ zone: 'Europe/Berlin', stepMinutes: 15, ends: true }, 'Europe/Paris'],
    [{ zone: 'America/Denver', stepMinutes: 30 }, 'America/Chicago'],
    [{ zone: 'America/Phoenix' }, 'America/Denver'],
    [{ zone: 'America/Phoenix' }, 'America/Phoenix'],
    [{ zone: 'Australia/Lord_Howe' }, 'Australia/Lord_Howe'],
    [{ zone: 'Europe/Berlin', from: '2025-05-01', to: '2025-09-01' }, 'America/Denver'],
    // An hour that a meter lost is no clock.
    [{ zone: 'America/Phoenix', without: /^2025-03-12 02/ }, 'America/Phoenix'],
    [{ zone: 'America/Phoenix', without: /^2025-03-30 02/ }, 'America/Phoenix'],
  ])('%j as %s is not', (from, zone) => {
    expect(faultOf(file(from), zone)).toBeUndefined();
    expect(told(file(from), zone).series).toBeDefined();
  });

  test('offsets that the zone never has are told; UTC is none of a home', () => {
    const berlin = file({ zone: 'Europe/Berlin', offsets: true });
    expect(faultOf(berlin, 'Europe/Berlin')).toBeUndefined();
    const fault = faultOf(berlin, 'America/Denver')!;
    expect(fault.severity).toBe('warning');
    expect(fault.message).toMatch(/offsets of \+01:00 and \+02:00 from UTC, and America\/Denver has −07:00 and −06:00/);
    expect(told(berlin, 'America/Denver').series).toBeDefined();
    expect(faultOf(file({ zone: 'America/Denver', offsets: true }), 'America/Phoenix')).toBeDefined();
    expect(faultOf(file({ zone: 'America/Phoenix', offsets: true }), 'America/Denver')).toBeUndefined();
    expect(faultOf(file({ zone: 'Etc/UTC', offsets: true }), 'America/Denver')).toBeUndefined();
  });

  test('ends of hours, told as a start and a step and read as starts, are offered as ends', () => {
    const starts = file({ zone: 'Europe/Berlin' }).split('\n').slice(1, -1);
    const text = `Start,Import (kWh)\n${starts
      .map((row) => {
        const later = new Date(Date.parse(`${row.slice(0, 10)}T${row.slice(11, 16)}Z`) + 3_600_000).toISOString();
        return `${later.slice(0, 10)} ${later.slice(11, 16)}${row.slice(16)}`;
      })
      .join('\n')}\n`;
    const asStarts = parseIntervalData(text, { zone: 'Europe/Berlin', intervalEnd: false });
    const fault = asStarts.findings.find(({ code }) => code === 'zone-contradicted')!;
    expect(fault.message).toMatch(
      /as the clocks of Europe\/Athens do; read as the ends, as that of Europe\/Berlin does$/,
    );
    expect(faultsOf('a.csv', asStarts.findings)[0]!.hint).toMatch(
      /^where labels name the ends of their intervals.* intervalEnd: true /,
    );
    expect(parseIntervalData(text, { zone: 'Europe/Berlin', intervalEnd: true }).series).toBeDefined();
    // Another rule's changes are no ends of this zone's.
    const denver = parseIntervalData(text, { zone: 'America/Denver', intervalEnd: false });
    expect(denver.findings.find(({ code }) => code === 'zone-contradicted')!.message).toMatch(
      /the zone is not theirs$/,
    );
  });

  test('labels whose clock changes hours after the zone’s, on its dates, are refused with how far they are off', () => {
    const year = file({ zone: 'Europe/Berlin' });
    const late = (hours: number, text = year) => {
      const [header, ...rows] = text.trimEnd().split('\n');
      const moved = rows.map((row) => {
        const at = new Date(Date.parse(`${row.slice(0, 10)}T${row.slice(11, 16)}Z`) + hours * 3_600_000).toISOString();
        return `${at.slice(0, 10)} ${at.slice(11, 16)}${row.slice(16)}`;
      });
      return `${[header, ...moved].join('\n')}\n`;
    };
    for (const hours of [3, 5, 6, -3, -4]) {
      const { series, findings } = told(late(hours), 'Europe/Berlin');
      expect(series).toBeUndefined();
      const fault = findings.find(({ code }) => code === 'clock-off-by-hours')!;
      expect(fault.data).toEqual({ zone: 'Europe/Berlin', lateHours: hours, dates: ['2025-03-30', '2025-10-26'] });
      const shiftMinutes = -60 * hours;
      expect(faultsOf('a.csv', findings)[0]!.hint).toContain(`adjust: { shiftMinutes: ${shiftMinutes} }`);
      const options = { zone: 'Europe/Berlin', adjust: { shiftMinutes } };
      expect(parseIntervalData(late(hours), options).series).toBeDefined();
    }
    // A single hour that is missing on that day, and the zone's own hour.
    const spring = file({ zone: 'Europe/Berlin', to: '2025-06-01' });
    for (const [text, zone] of [
      [late(3, spring), 'Europe/Berlin'],
      [late(0), 'Europe/Berlin'],
      [late(5), 'America/Phoenix'],
    ] as const)
      expect(told(text, zone).findings.map(({ code }) => code)).not.toContain('clock-off-by-hours');
  });
});
