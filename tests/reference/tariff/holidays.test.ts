import {
  civilDayOf,
  dateOfCivilDay,
  formatDate,
  holidayDays,
  orthodoxEaster,
  westernEaster,
} from '@duskbank/core/axis';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';

/** Dates on which a list of holidays is kept in a year. */
function kept(holidays: unknown[], year: number): string[] {
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Holidays',
    currency: 'USD',
    holidays,
    energy: [{ name: 'Energy', pricePerKwh: 0.1 }],
  });
  const days = holidayDays(tariff.versions[0]!.holidays, civilDayOf(year, 1, 1), civilDayOf(year, 12, 31));
  return [...days.keys()].map((day) => formatDate(dateOfCivilDay(day)));
}

describe('holidays as published', () => {
  // 5 U.S.C. 6103; the 2008 list: OPM archive.
  it('the federal list of 2008', () => {
    expect(kept(['us-federal'], 2008).filter((date) => date !== '2008-06-19')).toEqual([
      '2008-01-01',
      '2008-01-21',
      '2008-02-18',
      '2008-05-26',
      '2008-07-04',
      '2008-09-01',
      '2008-10-13',
      '2008-11-11',
      '2008-11-27',
      '2008-12-25',
    ]);
  });

  // Observed days reckoned from 5 U.S.C. 6103(b) and E.O. 11582: Saturday's on Friday, Sunday's on Monday.
  it.each([
    [2026, ['2026-07-03'], ['2026-07-04']],
    [2027, ['2027-06-18', '2027-07-05', '2027-12-24', '2027-12-31'], ['2027-06-19', '2027-07-04', '2027-12-25']],
    [2028, ['2028-11-10'], ['2028-01-01', '2028-11-11']],
    [2021, ['2021-12-31'], []],
    [2022, ['2022-06-20', '2022-12-26'], ['2022-01-01', '2022-06-19', '2022-12-25']],
    [2023, ['2023-01-02', '2023-11-10'], ['2023-01-01', '2023-11-11']],
  ])('federal days that fall on a weekend, %i', (year, observed, moved) => {
    const dates = kept(['us-federal'], year);
    for (const date of observed) expect(dates).toContain(date);
    for (const date of moved) expect(dates).not.toContain(date);
  });

  it('Juneteenth is kept from 2021 on', () => {
    expect(kept(['us-federal'], 2020)).not.toContain('2020-06-19');
    expect(kept(['us-federal'], 2021)).toContain('2021-06-18');
  });

  // NERC's list of additional off-peak days: Sunday's on Monday, Saturday's stays.
  it('the six off-peak holidays of 2010 and 2011', () => {
    expect(kept(['us-six'], 2010)).toEqual([
      '2010-01-01',
      '2010-05-31',
      '2010-07-05',
      '2010-09-06',
      '2010-11-25',
      '2010-12-25',
    ]);
    expect(kept(['us-six'], 2011).slice(0, 2)).toEqual(['2011-01-01', '2011-05-30']);
  });
  it.each([
    [2026, '2026-07-04'],
    [2027, '2027-07-05'],
    [2027, '2027-12-25'],
    [2028, '2028-01-01'],
    [2022, '2022-01-01'],
    [2022, '2022-12-26'],
    [2023, '2023-01-02'],
  ])('the six-holiday rule on weekends, %i: %s', (year, date) => expect(kept(['us-six'], year)).toContain(date));

  it('the eight-holiday list adds Presidents’ Day and Veterans Day, a Sunday’s on Monday', () => {
    const dates = kept(['us-eight'], 2018);
    expect(dates).toContain('2018-02-19');
    expect(dates).toContain('2018-11-12');
    expect(dates).toHaveLength(8);
  });

  // Movable days, reckoned from the rules.
  it.each([
    [2024, ['2024-05-27', '2024-09-02', '2024-11-28', '2024-02-19']],
    [2025, ['2025-05-26', '2025-09-01', '2025-11-27', '2025-02-17']],
    [2026, ['2026-05-25', '2026-09-07', '2026-11-26', '2026-02-16']],
    [2027, ['2027-05-31', '2027-09-06', '2027-11-25', '2027-02-15']],
  ])('Memorial, Labor, Thanksgiving and Washington’s day of %i', (year, dates) => {
    expect(kept(['us-federal'], year)).toEqual(expect.arrayContaining(dates));
  });

  // Ontario's regulated price plan 2017: ten off-peak holidays.
  it('Ontario’s ten of 2017, each form of rule among them', () => {
    const ontario = [
      { name: 'New Year’s Day', date: '01-01', observed: 'next-weekday' },
      { name: 'Family Day', weekday: 'monday', nth: 3, month: 2 },
      { name: 'Good Friday', daysAfterEaster: -2 },
      { name: 'Victoria Day', weekday: 'monday', onOrBefore: '05-24' },
      { name: 'Canada Day', date: '07-01', observed: 'next-weekday' },
      { name: 'Civic Holiday', weekday: 'monday', nth: 1, month: 8 },
      { name: 'Labour Day', weekday: 'monday', nth: 1, month: 9 },
      { name: 'Thanksgiving', weekday: 'monday', nth: 2, month: 10 },
      { name: 'Christmas', date: '12-25', observed: 'next-weekday' },
      { name: 'Boxing Day', date: '12-26', observed: 'next-weekday' },
    ];
    expect(kept(ontario, 2017)).toEqual([
      '2017-01-02',
      '2017-02-20',
      '2017-04-14',
      '2017-05-22',
      '2017-07-03',
      '2017-08-07',
      '2017-09-04',
      '2017-10-09',
      '2017-12-25',
      '2017-12-26',
    ]);
  });

  it('two days moved to the next weekday don’t fall on one another', () => {
    // Christmas 2021 was a Saturday, the day after a Sunday.
    const both = [
      { name: 'Christmas', date: '12-25', observed: 'next-weekday' },
      { name: 'Boxing Day', date: '12-26', observed: 'next-weekday' },
    ];
    expect(kept(both, 2021)).toEqual(['2021-12-27', '2021-12-28']);
    expect(kept(both, 2022)).toEqual(['2022-12-26', '2022-12-27']);
  });

  // Easter dates: common knowledge of the calendar, no source.
  it.each([
    [2024, '2024-03-31', '2024-05-05'],
    [2025, '2025-04-20', '2025-04-20'],
    [2026, '2026-04-05', '2026-04-12'],
    [2038, '2038-04-25', '2038-04-25'],
  ])('Easter of %i', (year, western, orthodox) => {
    expect(formatDate(dateOfCivilDay(westernEaster(year)))).toBe(western);
    expect(formatDate(dateOfCivilDay(orthodoxEaster(year)))).toBe(orthodox);
  });
});
