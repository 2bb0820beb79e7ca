import { describe, expect, test } from 'vitest';
import { publishedReliability, rulesOf } from '../../../packages/core/src/outage/reliability.ts';

// tz database 2025b: zone.tab's zones of US, and the links to them of its file `backward`.
const STATES =
  'America/New_York America/Detroit America/Kentucky/Louisville America/Kentucky/Monticello America/Indiana/Indianapolis America/Indiana/Vincennes America/Indiana/Winamac America/Indiana/Marengo America/Indiana/Petersburg America/Indiana/Vevay America/Chicago America/Indiana/Tell_City America/Indiana/Knox America/Menominee America/North_Dakota/Center America/North_Dakota/New_Salem America/North_Dakota/Beulah America/Denver America/Boise America/Phoenix America/Los_Angeles America/Anchorage America/Juneau America/Sitka America/Metlakatla America/Yakutat America/Nome America/Adak Pacific/Honolulu ' +
  'America/Atka US/Aleutian US/Alaska US/Central America/Shiprock Navajo US/Mountain US/Michigan America/Fort_Wayne America/Indianapolis US/East-Indiana America/Knox_IN US/Indiana-Starke America/Louisville US/Pacific US/Eastern US/Arizona US/Hawaii';
// zone.tab's zones of PR, VI, GU, MP and AS, and the links to them.
const TERRITORIES =
  'America/Puerto_Rico America/St_Thomas America/Virgin Pacific/Guam Pacific/Saipan Pacific/Pago_Pago Pacific/Samoa US/Samoa';
// Neighbours, names that begin alike, links to Puerto Rico's zone that lie elsewhere, and zones of no country.
const ELSEWHERE =
  'America/Toronto America/Tijuana America/Anguilla America/Marigot America/Kralendijk America/Nome2 Pacific/Apia EST5EDT MST Etc/UTC';

describe('a zone of the United States', () => {
  test('is known by each of its names: their rules are cited, and of the states their averages', () => {
    for (const zone of STATES.split(' '))
      expect([zone, rulesOf(zone), publishedReliability(zone)?.saifi]).toEqual([zone, 'us', 1.348]);
  });

  test('may lie in a territory: the same rules, but the averages are of the states', () => {
    for (const zone of TERRITORIES.split(' '))
      expect([zone, rulesOf(zone), publishedReliability(zone)]).toEqual([zone, 'us', undefined]);
  });

  test('is none that only looks like one', () => {
    for (const zone of ELSEWHERE.split(' '))
      expect([zone, rulesOf(zone), publishedReliability(zone)]).toEqual([zone, 'local', undefined]);
  });
});
