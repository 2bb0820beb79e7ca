// What a site file says of outages and money.
import { type Case, site } from './case.ts';

export const BACKUPS: readonly Case[] = [
  site(
    'an appliance unknown',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            appliance: 'fridge',
            leg: 'L1',
            priority: 1,
          },
        ],
      };
    },
    {
      code: 'not-allowed',
      field: 'backup.circuits[0].appliance',
      line: 27,
      value: '"fridge"',
      expected: 'one of refrigerator, freezer, furnace-fan, sump-pump, well-p',
    },
  ),
  site(
    'a circuit without draw',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            leg: 'L1',
            priority: 1,
          },
        ],
      };
    },
    {
      code: 'missing',
      field: 'backup.circuits[0]',
      line: 25,
      value: 'neither',
      expected: '"watts" or "va" from the nameplate, or an "appliance" of the',
    },
  ),
  site(
    'two circuits of one name',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L1',
            priority: 1,
          },
          {
            name: 'A',
            watts: 60,
            leg: 'L2',
            priority: 2,
          },
        ],
      };
    },
    {
      code: 'duplicate-name',
      field: 'backup.circuits[1].name',
      line: 32,
      value: '"A"',
      expected: 'a name that no other circuit has',
    },
  ),
  site(
    'a shared neutral with nobody',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L1',
            priority: 1,
            sharedNeutralWith: 'B',
          },
        ],
      };
    },
    {
      code: 'unknown-circuit',
      field: 'backup.circuits[0].sharedNeutralWith',
      line: 30,
      value: '"B"',
      expected: 'the name of another circuit in this list',
    },
  ),
  site(
    'shed and never shed',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L1',
            priority: 1,
            neverShed: true,
            shedBelow: 0.3,
          },
        ],
      };
    },
    {
      code: 'contradiction',
      field: 'backup.circuits[0].shedBelow',
      line: 31,
      value: '0.3 beside neverShed',
      expected: 'one of the two',
    },
  ),
  site(
    'medical circuit that is shed',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L1',
            priority: 1,
            medical: true,
            shedBelow: 0.3,
          },
        ],
      };
    },
    {
      code: 'contradiction',
      field: 'backup.circuits[0].shedBelow',
      line: 31,
      value: '0.3 beside medical',
      expected: 'one of the two',
    },
  ),
  site(
    'hours without end',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L1',
            priority: 1,
            hours: { from: '06:00' },
          },
        ],
      };
    },
    {
      code: 'missing',
      field: 'backup.circuits[0].hours.to',
      line: 30,
      value: 'nothing',
      expected: 'a text in quotes',
      hint: 'add "to"',
    },
  ),
  site(
    'duty in percent',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L1',
            priority: 1,
            dutyShare: 40,
          },
        ],
      };
    },
    {
      code: 'out-of-range',
      field: 'backup.circuits[0].dutyShare',
      line: 30,
      value: '40',
      expected: 'at most 1',
      hint: 'write 0.4 for 40 %',
    },
  ),
  site(
    'leg L3',
    (s) => {
      s.backup = {
        circuits: [
          {
            name: 'A',
            watts: 50,
            leg: 'L3',
            priority: 1,
          },
        ],
      };
    },
    {
      code: 'not-allowed',
      field: 'backup.circuits[0].leg',
      line: 28,
      value: '"L3"',
      expected: 'one of 240, L1, L2',
      hint: 'did you mean "L1"?',
    },
  ),
  site(
    'storm month 0',
    (s) => {
      s.backup = { stormMonths: [0, 1] };
    },
    { code: 'out-of-range', field: 'backup.stormMonths[0]', line: 25, value: '0', expected: 'at least 1' },
  ),
  site(
    'goal of a month',
    (s) => {
      s.backup = { goalHours: 720 };
    },
    { code: 'out-of-range', field: 'backup.goalHours', line: 24, value: '720', expected: 'at most 336' },
  ),
  site(
    'planned outage backwards',
    (s) => {
      s.backup = {
        reserve: {
          planned: [
            {
              from: '2025-01-14T16:00',
              to: '2025-01-14T08:00',
              noticeHours: 24,
            },
          ],
        },
      };
    },
    {
      code: 'contradiction',
      field: 'backup.reserve.planned[0].to',
      line: 28,
      value: '2025-01-14T08:00',
      expected: 'a time after 2025-01-14T16:00',
    },
  ),
  site(
    'planned outage on 30 February',
    (s) => {
      s.backup = {
        reserve: { planned: [{ from: '2025-02-30T08:00', to: '2025-03-02T16:00', noticeHours: 24 }] },
      };
    },
    {
      code: 'not-a-date',
      field: 'backup.reserve.planned[0].from',
      line: 27,
      value: '2025-02-30T08:00',
      expected: 'a date that exists',
    },
  ),
  site(
    'reserve unknown field',
    (s) => {
      s.backup = { reserve: { percent: 20 } };
    },
    {
      code: 'unknown-key',
      field: 'backup.reserve.percent',
      line: 25,
      value: 'the key "percent"',
      expected: 'one of byMonth, byHour, keepHours, planned',
      hint: 'remove it',
    },
  ),
  site(
    'panel without main',
    (s) => {
      s.backup = { panel: { busbarAmps: 200 } };
    },
    {
      code: 'missing',
      field: 'backup.panel.mainAmps',
      line: 24,
      value: 'nothing',
      expected: 'a finite number',
      hint: 'add "mainAmps"',
    },
  ),
  site(
    'volts between phases',
    (s) => {
      s.backup = { panel: { mainAmps: 75, volts: 400 } };
    },
    {
      code: 'three-phase',
      field: 'backup.panel.volts',
      line: 26,
      value: '400 V',
      expected: 'at most 260 V',
      hint: 'amperes of all three together',
    },
  ),
  site(
    'price without what it covers',
    (s) => {
      s.economics = { price: 5e3 };
    },
    {
      code: 'missing',
      field: 'economics.covers',
      line: 23,
      value: 'nothing',
      expected: 'a text in quotes',
      hint: 'add "covers"',
    },
  ),
  site(
    'price zero',
    (s) => {
      s.economics = {
        price: 0,
        covers: 'x',
      };
    },
    { code: 'out-of-range', field: 'economics.price', line: 24, value: '0', expected: 'at least 0.01' },
  ),
  site(
    'price with thousands comma',
    (s) => {
      s.economics = {
        price: '4,500',
        covers: 'x',
      };
    },
    {
      code: 'wrong-type',
      field: 'economics.price',
      line: 24,
      value: '"4,500"',
      expected: 'a finite number',
      hint: 'write 4500 or 4.5, without quotes',
    },
  ),
  site(
    'warranty of a century',
    (s) => {
      s.economics = {
        price: 5e3,
        covers: 'x',
        warrantyYears: 100,
      };
    },
    { code: 'out-of-range', field: 'economics.warrantyYears', line: 26, value: '100', expected: 'at most 50' },
  ),
  site(
    'battery price above price',
    (s) => {
      s.economics = {
        price: 5e3,
        covers: 'x',
        batteryPrice: 6e3,
      };
    },
    {
      code: 'out-of-range',
      field: 'economics.batteryPrice',
      line: 26,
      value: '6000',
      expected: 'at most the price, 5000',
    },
  ),
  site(
    'negative target',
    (s) => {
      s.dispatch = { peakShaveTargetKw: -1 };
    },
    { code: 'out-of-range', field: 'dispatch.peakShaveTargetKw', line: 24, value: '-1', expected: 'at least 0' },
  ),
  site(
    'margin too large',
    (s) => {
      s.backup = { margin: { fadeShare: 1.4 } };
    },
    { code: 'out-of-range', field: 'backup.margin.fadeShare', line: 25, value: '1.4', expected: 'less than 1' },
  ),
  site(
    'solar limit 0',
    (s) => {
      s.backup = { solarLimitKw: 0 };
    },
    { code: 'out-of-range', field: 'backup.solarLimitKw', line: 24, value: '0', expected: 'at least 0.001' },
  ),
];
