import type { CodeOf } from './fact.ts';
import { kwhDigits, listed } from './figures.ts';
import type { MeterWords } from './meter.ts';
import { showName } from './quote.ts';
import type { UnitChoice } from './reading.ts';
import type { ToldStream } from './streams.ts';

/** What would have been right, and how to get there. */
interface Cure {
  readonly expected: string;
  readonly hint: string;
}

/** The cure of each finding of an interval file that stops a study. */
const CURES: Readonly<Partial<Record<CodeOf<MeterWords>, Cure>>> = {
  'archive-damaged': {
    expected: 'an archive that is as it was packed, from its first byte to its last',
    hint: 'download it again; mail and web forms sometimes cut files',
  },
  'archive-empty': { expected: 'an archive with an interval file in it', hint: 'unpack it and name the file itself' },
  'archive-locked': {
    expected: 'an archive without a password',
    hint: 'unpack it with its password, and name the file itself',
  },
  'archive-too-large': {
    expected: 'an archive of meter files',
    hint: 'was another file meant? Else unpack it, and name the file itself',
  },
  'archive-unreadable': {
    expected: 'a plain zip or gzip file',
    hint: 'unpack it, and name the file itself',
  },
  binary: {
    expected: 'a text file of intervals',
    hint: 'export the table as CSV or .xlsx; a picture can’t be read',
  },
  'clock-unclear': {
    expected: 'labels that say which clock they follow',
    hint: 'in the site file: { path: …, clock: utc } (or standard, local); "duskbank inspect" takes --clock',
  },
  'clock-off-by-hours': {
    expected: 'labels on the clock of the home',
    hint: 'in the site file: { path: …, adjust: { shiftMinutes: -180 } }, or "duskbank inspect" with --shift -180',
  },
  'column-twice': {
    expected: 'each column once',
    hint: 'leave one of the two out; if the home has another column of the same kind, name that one',
  },
  'columns-unclear': {
    expected: 'a column of energy (kWh) or power (kW) that says what it measures',
    hint: 'in the site file: { path: …, columns: { import: 3 } }, with the number of the column from 1, or the name in its header; the other words are export, load, solar and net; "duskbank inspect" takes --columns import=3',
  },
  'date-order-unclear': {
    expected: 'dates whose day and month can be told apart',
    hint: 'in the site file: { path: …, dateOrder: day-first } (or month-first; year-first where the year stands first with two digits); "duskbank inspect" takes --date-order',
  },
  'day-total-unclear': {
    expected: 'the energy of each interval, or a total whose every step is shown',
    hint: 'export the energy of each interval (kWh per hour or quarter-hour), or the meter’s reading, which doesn’t start anew each day',
  },
  'day-twice': {
    expected: 'one record of each day and register, or a later update time in the one that counts',
    hint: 'where a date is mistaken, correct it, or remove that record: missing days are gaps; where they are two registers, write the record 200 of the second above its records, or correct its suffix; where one record corrects the other, in the site file: { path: …, repeats: last } (or first); "duskbank inspect" takes --repeats',
  },
  'days-twice': {
    expected: 'one record of each day and register, below the record 200 of that register',
    hint: 'download the file again; or write the record 200 of the other register above its records (the second line that is told), or correct the suffix there; where they are this register’s own once more, remove those that don’t count, and leave out "repeats"',
  },
  'decimal-mixed': {
    expected: 'one mark before decimals in all rows',
    hint: 'write those cells as the others are; where the other mark parts thousands everywhere, in the site file: { path: …, decimal: "," }; "duskbank inspect" takes --decimal',
  },
  'decimal-unclear': {
    expected: 'values that say whether a mark parts thousands or decimals',
    hint: 'in the site file: { path: …, decimal: "," } (1.234 is a thousand and more) or { path: …, decimal: "." } (1.234 is one and a little); "duskbank inspect" takes --decimal',
  },
  'duplicate-differs': {
    expected: 'one reading an interval',
    hint: 'remove one of the two, or in the site file: { path: …, repeats: first } (last, add); where a column tells them apart: columns: { type: Register }, rows: { A: import, B: export }; "duskbank inspect" takes --repeats, --columns type=… and --rows',
  },
  empty: { expected: 'a header and rows of intervals', hint: 'download it again' },
  'fields-differ': {
    expected: 'as many fields in every row as the header has names',
    hint: 'where decimals are written with a comma, save the table with semicolons between fields, or with decimal points; else mend those rows: a value that is missing leaves an empty field',
  },
  'format-unknown': {
    expected: 'format duskbank.interval/1',
    hint: 'this file was written for another version of Duskbank: use that version, or write it anew',
  },
  'half-days-unclear': {
    expected: 'times of a day with 24 hours (13:00), or with AM and PM',
    hint: 'take the download as it came; or give the cells of the time the format hh:mm of 24 hours in the spreadsheet, and save it again',
  },
  'label-ends-asked': {
    expected: 'labels that say which end of their interval they name',
    hint: 'in the site file: { path: …, intervalEnd: true } where a label names the time at which its interval ends (01:00 the hour from midnight on), else { path: …, intervalEnd: false }; "duskbank inspect" takes --interval-end or --interval-start, and "duskbank check" too',
  },
  'line-too-long': {
    expected: 'one interval, or one day of intervals, a line',
    hint: 'look whether line ends were lost; export the table as CSV again',
  },
  'mixed-steps': {
    expected: 'one step, from the first row to the last',
    hint: 'split the file where the step changes, and name both parts in "meter.files"',
  },
  'mostly-unreadable': {
    expected: 'a date, a time and a value in every row',
    hint: 'export the table again; "duskbank inspect" shows what was understood',
  },
  'negative-value': {
    expected: 'kWh of zero or more; only a net column may be negative',
    hint: 'if positive and negative mean import and export, name the column "net"; else blank the cells: a blank is a gap',
  },
  'no-interval-data': {
    expected: 'readings 60 minutes apart or less',
    hint: 'ask the utility for interval data ("smart meter", "quarter-hourly"), not for bills or daily totals',
  },
  'no-readings': {
    expected: 'rows that each hold a time and a value',
    hint: 'look whether the download is complete and holds the span that you asked for',
  },
  'no-time-column': {
    expected: 'a column of dates and times such as 2025-03-31 16:30',
    hint: 'write dates as 2025-03-31; where they are dates already, name their column, in the site file: { path: …, columns: { start: 1, import: 2 } }, by the number of the column from 1 or by the name in its header; where the time stands in a column of its own: columns: { date: 1, time: 2, import: 3 }',
  },
  'not-a-number': {
    expected: 'a number in every cell of that column, or nothing',
    hint: 'write a number alone, in the unit of the others, or blank the cell: a blank is a gap, and short gaps are filled and marked as estimates',
  },
  'not-active-energy': {
    expected: 'active energy (kWh) or power (kW)',
    hint: 'download the kWh ("active energy"); where the values are kWh all the same, correct the unit that the file prints (beside each value, or in the line above the table)',
  },
  'not-meter-data': {
    expected: 'a column of the home’s electricity, kWh or kW',
    hint: 'download interval data of the electricity meter; if a column does hold energy, name it, by its number from 1 or by the name in its header: { path: …, columns: { import: 3 } }',
  },
  'other-document': {
    expected: 'interval data as CSV, as a spreadsheet or as ESPI (XML)',
    hint: 'download the readings in one of these forms; a table can be saved as CSV from any spreadsheet program',
  },
  'part-alone': {
    expected: 'all registers of the meter',
    hint: 'add the file that holds the others to "meter.files" (files of one home are joined), or download one with all of them; where it is all that the home took, say so, in the site file: { path: …, channel: import }, beside what it states already; "duskbank inspect" takes --channel import',
  },
  'parts-unclear': {
    expected: 'readings that are known to be parts of one whole, or one reading an interval',
    hint: 'in the site file: { path: …, rows: { "Register 2": ignore } } (of an ESPI file { path: …, meterReading: 1 }; columns: { import: [Day, Night] } adds columns); "duskbank inspect" takes --rows, --meter-reading and --columns',
  },
  'quality-missing': {
    expected: 'records 400 below each record 300 of quality V, for all its intervals',
    hint: 'download the file again; or write records 400 for the intervals that lack one (400,1,48,A: first and last interval and quality)',
  },
  'quality-misplaced': {
    expected: 'records 400 directly below a record 300 of quality V',
    hint: 'download the file again; or move it below the record 300 that it speaks of; where that is not known, remove it: days of quality V that no record 400 speaks of are gaps then',
  },
  'reading-above-service': {
    expected: 'readings that the service can carry',
    hint: 'correct the cell, or blank it: a blank is a gap. If the reading is right, state "backup.panel.mainAmps" (of three phases all together) or "service.importLimitKw" in the site file (100 kW are taken where neither is); "duskbank inspect" takes --service-kw',
  },
  'register-missing': {
    expected: 'records 300 of every register that a record 200 declares',
    hint: 'mend its records (200: a unit such as kWh and an interval length in minutes; 300: a date that exists), or download the file again; where it counts nothing, give it records of 0',
  },
  'rows-unclear': {
    expected: 'rows that say whether they are import, export, load or solar',
    hint: 'in the site file: { path: …, rows: { "1": import, "2": export, "9": ignore } }, by the text of the cell; "duskbank inspect" takes --rows 1=import 2=export 9=ignore',
  },
  'overlap-contradicts': {
    expected: 'files of one channel that agree where they overlap',
    hint: 'say what each measures, in the site file: { path: …, channel: export } of what is sold, { path: …, channel: solar } of what panels gave, { path: …, channel: load } only of all that the home uses: what is called so is no part of what is bought, so that a controlled load with a register of its own would be missing from the bill. Leave out what is a part of another, such as one circuit. Where both claim to be the home’s own meter, keep the one whose kWh a bill of those days shows',
  },
  'solar-shaped': {
    expected: 'what the home drew, or the word that this is solar',
    hint: 'if it is what the home sold (export, feed-in): { path: …, channel: export }, beside the file of what it bought. If solar panels gave it: { path: …, channel: solar } in the site file, and under "files" the meter’s own file of import and export as well: solar alone doesn’t tell what the home draws. If the home drew it: { path: …, channel: import }; "duskbank inspect" takes --channel',
  },
  'span-differs': {
    expected: 'files that cover the same days',
    hint: 'download the missing part, or cut all to what they have in common: under "meter" state "span": { "from": "2025-01-01", "to": "2025-12-31" }, with your dates',
  },
  'span-too-long': { expected: 'at most fifty years', hint: 'look for a mistaken year in the first and last rows' },
  'several-usage-points': {
    expected: 'one meter, or the word that several are of one home',
    hint: 'in the site file, where one of them is the home’s: { path: …, usagePoint: 1 }; where all are, which adds them: { path: …, usagePoint: [1, 2] }; "duskbank inspect" takes --usage-point',
  },
  'several-sheets': {
    expected: 'one sheet of readings, or sheets that are stretches or channels of one home',
    hint: 'in the site file: { path: …, sheet: NAME }; "duskbank inspect" and "check" take --sheet',
  },
  'spreadsheet-kind': {
    expected: 'an .xlsx spreadsheet, or a text file such as CSV',
    hint: 'open it in a spreadsheet program and save it as .xlsx or as CSV',
  },
  'spreadsheet-locked': {
    expected: 'a spreadsheet without a password',
    hint: 'open it with its password, and save it without one, or as CSV',
  },
  'spreadsheet-unreadable': {
    expected: 'a spreadsheet whose sheets are tables',
    hint: 'copy the table into a new sheet and save that, or save it as CSV',
  },
  'step-unclear': { expected: 'at least two rows one step apart', hint: 'download a longer span: a year is best' },
  'step-unsupported': {
    expected: 'a step that divides an hour: 5, 10, 15, 20, 30 or 60 minutes, or a finer one that divides those',
    hint: 'export the data with another step',
  },
  'steps-differ': {
    expected: 'files whose steps can be summed to one another',
    hint: 'export them with the same step, on the same minute',
  },
  'too-large': { expected: 'one or two years of intervals', hint: 'cut the file' },
  truncated: {
    expected: 'a last line as whole as the others',
    hint: 'download it again, or remove the last line',
  },
  'unit-changes': {
    expected: 'one unit from the first row to the last',
    hint: 'split the file where the unit changes, and name both parts in the site file, each with its unit: { path: …, unit: kWh } and { path: …, unit: Wh }',
  },
  'totals-unit': {
    expected: 'rows that add up to the total that the file prints of them',
    hint: 'state the unit that the values are in: in the site file: { path: …, unit: kWh }; "duskbank check" and "duskbank inspect" take --unit',
  },
  'unit-implausible': {
    expected: 'a home of 200 to 100,000 kWh a year',
    hint: 'state the unit that the values are in, the printed one where it is right; in the site file: { path: …, unit: kWh }; "duskbank check" and "duskbank inspect" take --unit',
  },
  'unit-multiple': {
    expected: 'a unit without a number before it',
    hint: 'in the site file, where a value of 1 is 10 Wh: { path: …, unit: Wh, adjust: { scale: { import: 10 } } }; where the values are plain Wh: { path: …, unit: Wh }; "duskbank inspect" takes --unit and --scale',
  },
  'unit-unknown': {
    expected: 'a unit in the header, such as "kWh"',
    hint: 'write it into the header, or in the site file: { path: …, unit: kWh }; "duskbank check" and "duskbank inspect" take --unit',
  },
  'unknown-column': {
    expected: 'a column that the file has',
    hint: 'correct "columns" of the file in the site file; a number counts columns from 1',
  },
  'unknown-meter-reading': {
    expected: 'a meter reading that the file has, counted from 1',
    hint: 'correct "meterReading" of the file in the site file',
  },
  'unknown-rows': {
    expected: 'texts that stand in the column that tells rows apart',
    hint: 'write them as they stand in the file; name the column where it isn’t found: columns: { type: Register }',
  },
  'unknown-sheet': {
    expected: 'the name of a sheet as its tab shows it',
    hint: 'in the site file: { path: …, sheet: NAME }; "duskbank inspect" and "check" take --sheet',
  },
  'unknown-usage-point': {
    expected: 'a usage point or meter that the file has, counted from 1',
    hint: 'correct "usagePoint" of the file in the site file; "duskbank inspect" takes --usage-point',
  },
  'unknown-zone': {
    expected: 'an IANA time zone such as "America/Denver"',
    hint: 'an offset such as "UTC-7" has no clock changes: name the zone instead',
  },
  'unreadable-row': {
    expected: 'a date that exists and a time in every row',
    hint: 'correct the date, or remove the row: missing rows are gaps',
  },
  'values-miscounted': {
    expected: 'as many values in a record 300 as a day has intervals, then the quality',
    hint: 'correct the interval length (ninth field) of the record 200 above it where all its days have so many; where one day alone has, write a blank where a value is missing, or take out what is too much; or remove that record: missing days are gaps',
  },
  'xml-refused': { expected: 'an ESPI file as utilities hand it out', hint: 'download it again' },
  'zone-differs': { expected: 'files of one home in one zone', hint: 'state the same "zone" for each file' },
  'utc-name-contradicted': {
    expected: 'labels that follow the clock that their column is named for',
    hint: 'in the site file: { path: …, clock: local } where they show what a clock at home does (or utc); "duskbank inspect" takes --clock',
  },
  'zone-contradicted': {
    expected: 'a zone whose clock changes when that of the labels does',
    hint: 'state the zone that the file is in: "zone" of the site where the home stands there, else of the file ("meter": { "files": [{ "path": …, "zone": … }] }; "inspect": --zone)',
  },
  'zone-missing': {
    expected: 'the time zone of the file’s labels',
    hint: 'pass it: --zone America/Denver (a site file has a "zone" of its own)',
  },
  'year-impossible': {
    expected: 'dates from 1970 to 2200',
    hint: 'mend the year in the file, in all rows, or download it again',
  },
};

/** Records of NEM12 that other rows rest on: without them those would be read as something else. */
const NEM12_CURES: Readonly<Record<string, Cure>> = {
  'record-200': {
    expected: 'an interval length of 5, 15 or 30 minutes in its ninth field',
    hint: 'write it there, or remove the record together with the records 300 below it: alone they would count for the register above; or download the file again',
  },
  'no-record-200': {
    expected: 'a record 200 above the records 300 of each register',
    hint: 'write the record 200 of their register above them (its first 300 stands in the line that is told), or download the file again: without it a register is missing',
  },
  'no-direction': {
    expected:
      'a suffix in its fifth field that begins with E (taken from the grid), B (given to it) or N (taken less given)',
    hint: 'write it there, as the register field or the configuration beside it may have it, or download the file again; where the energy is not this home’s, remove the record together with the records 300 below it: alone they would count for the register above',
  },
  'record-400': {
    expected: 'the first and the last interval that it speaks of, from 1, and their quality: A, E, F, N or S',
    hint: 'correct them, or remove it together with the record 300 above it, whose day is then a gap; or download the file again',
  },
};

/** What a finding of a file is answered with. */
export function cureOf(code: string, file: string, data: Readonly<Record<string, unknown>> = {}): Cure {
  const cure = CURES[code as CodeOf<MeterWords>] ?? {
    expected: 'interval data that can be read without guessing',
    hint: `run "duskbank inspect ${showName(file)}" to see what was understood of the file`,
  };
  const { choices, columnNumbers, role = 'import', spans } = data;
  if (code === 'several-usage-points' && Number(data.usagePoints) > 2)
    return { ...cure, hint: cure.hint.replace('[1, 2]', `[${numbersTo(Number(data.usagePoints)).join(', ')}]`) };
  if (code === 'day-twice') return { ...cure, hint: twiceHint(cure.hint, data) };
  if (code === 'overlap-contradicts')
    return { ...cure, hint: `${data.addable === true ? ADD_FIRST : ''}${cure.hint}${overlapHint(data)}` };
  if (code === 'part-alone') {
    const alone = data.silent === undefined || data.exchanged === true ? cure.hint : SILENT_HINT;
    const hint = alone.replaceAll(/(channel:?) import/g, `$1 ${role}`);
    if (data.isUtc === true && data.exchanged !== true) return { ...cure, hint: `${CLOCK_FIRST}${hint}` };
    return {
      ...cure,
      hint: data.exchanged === true ? `${EXCHANGE_FIRST}; where they are not exchanged: ${hint}` : hint,
    };
  }
  if (code === 'clock-off-by-hours')
    return { ...cure, hint: cure.hint.replaceAll('-180', String(-60 * Number(data.lateHours))) };
  if (code === 'zone-contradicted' && data.fitAsEnds === true) return { ...cure, hint: `${ENDS_FIRST}${cure.hint}` };
  if (code === 'unreadable-row') return NEM12_CURES[String(data.why)] ?? cure;
  if (code === 'several-sheets' && Array.isArray(data.sheets)) return { ...cure, hint: sheetsHint(data.sheets) };
  if (
    code === 'parts-unclear' &&
    (data.why === 'total-differs' || data.why === 'total-of-left-out') &&
    Array.isArray(data.streams)
  )
    return { ...cure, hint: totalHint(data.streams, String(role)) ?? cure.hint };
  if (code === 'parts-unclear' && Array.isArray(data.streams))
    return { ...cure, hint: partsHint(data.streams, String(role), data.why === 'net-holds-more') ?? cure.hint };
  if (code === 'unit-changes' && Number(data.times) < 1)
    return { ...cure, hint: cure.hint.replace(/unit: kWh(.*)unit: Wh/, 'unit: Wh$1unit: kWh') };
  if (code === 'rows-unclear' && Array.isArray(data.streams)) {
    const told = (data.streams as readonly ToldStream[]).filter(({ rowText }) => rowText !== undefined).slice(0, 6);
    return told.length === 0 ? cure : { ...cure, hint: rowsHint(told) };
  }
  if (code === 'date-order-unclear' && data.why === 'exchanged')
    return {
      ...cure,
      hint: 'take the download as it came, before a spreadsheet opened it, or write every date as 2025-03-31',
    };
  if (code === 'totals-unit' && Array.isArray(data.others))
    return {
      ...cure,
      hint: cure.hint.replace('unit: kWh', `unit: ${data.others[0]}`).replace('--unit', `--unit ${data.others[0]}`),
    };
  if (code === 'no-interval-data' && data.why === 'times-lost')
    return {
      expected: 'a time beside each date',
      hint: 'take the download as it came, or format the column of dates in the spreadsheet as date and time and save it again; else export it anew with times',
    };
  if (code === 'not-active-energy' && Array.isArray(columnNumbers))
    return { ...cure, hint: inactiveHint(columnNumbers[0]!) };
  if (code === 'span-differs' && Array.isArray(spans)) return { ...cure, hint: spanHint(spans) };
  if (code === 'columns-unclear' && data.why === 'both-ways')
    return {
      ...cure,
      hint: 'state each for itself: { path: …, columns: { import: …, export: … } }, with the numbers of the columns or their names; where one of them doesn’t count, leave it out',
    };
  if (code === 'columns-unclear' && data.why === 'registers')
    return { ...cure, hint: registersHint(data.partNumbers as readonly number[], data.totalNumber, data.isSum) };
  if (code === 'columns-unclear' && data.wholeNumber !== undefined)
    return { ...cure, hint: wholeHint(Number(data.wholeNumber), String(role)) };
  if (code === 'columns-unclear' && data.why === 'alike' && Array.isArray(columnNumbers))
    return { ...cure, hint: alikeHint(columnNumbers, String(role), data.byTurns === true) };
  if (code === 'not-meter-data' && Array.isArray(columnNumbers) && columnNumbers.length === 0)
    return { ...cure, hint: cure.hint.replace(/;.*/, '') };
  if (/^(?:columns-unclear|not-meter-data)$/.test(code) && Array.isArray(columnNumbers) && columnNumbers.length > 0)
    return { ...cure, hint: cure.hint.replaceAll(/import(: |=)3/g, `${role}$1${columnNumbers[0]}`) };
  if (code === 'columns-unclear' && data.why === 'no-energy') return NO_ENERGY;
  if (code === 'columns-unclear' && data.why === 'own-header') return OWN_HEADER;
  if (code === 'unit-unknown' && Array.isArray(choices) && choices.length > 0)
    return { ...cure, hint: unitHint(choices, Array.isArray(data.channels) ? data.channels : []) };
  return cure;
}

/** Nothing counts in some hours: what carries the home then is asked in a word, the likeliest first, with what each answer takes. */
const SILENT_HINT =
  'what carries the home in those hours? Another register of the meter: add the file that holds it to "meter.files" (files of one home are joined), or download one with all of them. Solar panels: look whether those hours are the day’s on another clock, such as UTC (state clock: utc of the file), and add the file of what is sold, { path: …, channel: export }. A battery: no saving can be told from these days, so take days from before it was there ("span" under "meter"). Nothing, because nobody is there or all is off (a timer, a switch): then this is all that the home takes; say so, in the site file: { path: …, channel: import }, beside what it states already; "duskbank inspect" takes --channel import';

const CLOCK_FIRST =
  'first look at the clock: where labels are UTC, state { path: …, clock: utc } in the site file ("duskbank inspect" takes --clock utc); where they are not: ';

/** The home's own zone is likelier right than that of another country. */
const ENDS_FIRST =
  'where labels name the ends of their intervals, say so, in the site file: { path: …, intervalEnd: true } ("duskbank inspect" takes --interval-end); else ';

/** The word that leaves no energy out goes first. */
const ADD_FIRST =
  'where one of the two is a register beside what the other holds (a controlled load beside general usage), say so of its file alone, in the site file: { path: …, repeats: add }, and the two are added. Else ';

const EXCHANGE_FIRST =
  'first look whether import and export are exchanged: of columns, state { path: …, columns: { import: …, export: … } } with the number of the other in each, of rows or registers of NEM12 "rows" with the other word for each';

const NO_ENERGY: Cure = {
  expected: 'a column of energy (kWh) or power (kW)',
  hint: 'download the energy of each interval (kWh); no column of this file holds numbers that could be it',
};

const OWN_HEADER: Cure = {
  expected: 'a header such as start,import_kwh',
  hint: 'write the file anew with "duskbank inspect --write", or correct its header',
};

/** The file's own texts: the first that is no total is given a word, and the others are to be. A total is never added to others. */
function rowsHint(streams: readonly ToldStream[]): string {
  const first = streams.find(({ total }) => total !== true);
  const said = (stream: ToldStream) => (stream === first ? 'import' : 'ignore');
  const inFile = streams.map((stream) => `${JSON.stringify(stream.rowText)}: ${said(stream)}`);
  const flags = streams.map((stream) => `${inShell(stream.rowText!)}=${said(stream)}`);
  return `in the site file, with the word that is true of each (import, export, load, solar, net, ignore): { path: …, rows: { ${inFile.join(', ')} } }; "duskbank inspect" takes --rows ${flags.join(' ')}`;
}

function inShell(text: string): string {
  return /^\w+$/.test(text) ? text : `"${text}"`;
}

/** A total alone, or the others without it. */
function totalHint(streams: readonly ToldStream[], role: string): string | undefined {
  const texts = (isTotal: boolean) =>
    streams.filter(({ total }) => (total === true) === isTotal).map(({ rowText }) => rowText);
  const [totals, others] = [texts(true), texts(false)];
  if ([...totals, ...others].includes(undefined)) return undefined;
  const ignored = (some: readonly (string | undefined)[]) =>
    some.map((text) => `${JSON.stringify(text)}: ignore`).join(', ');
  const read = totals.map((text) => `${JSON.stringify(text)}: ${role}`).join(', ');
  return `a bill of those days shows which is what the home took; the total alone, in the site file: { path: …, rows: { ${read}, ${ignored(others)} } }; the others without it: { path: …, rows: { ${ignored(totals)} } }; never all of them; "duskbank inspect" takes --rows ${totals.map((text) => `${inShell(text!)}=ignore`).join(' ')}`;
}

function numbersTo(most: number): number[] {
  return Array.from({ length: Math.min(most, 12) }, (_, k) => k + 1);
}

/** Names of sheets as YAML and a shell take them. */
function sheetsHint(sheets: readonly string[]): string {
  const names = sheets.map((name) => JSON.stringify(showName(name)));
  return `in the site file, with the sheet that is meant: ${names.map((name) => `{ path: …, sheet: ${name} }`).join(' or ')}; "duskbank inspect" and "check" take --sheet ${names[0]}`;
}

/** All together, which leaves no energy out, where they may be parts of one whole; else one of them alone, each in turn. */
function partsHint(streams: readonly ToldStream[], role: string, isNet: boolean): string | undefined {
  const told = streams.slice(0, 6);
  const readings = told.flatMap(({ meterReading }) => meterReading ?? []);
  const texts = told.flatMap(({ rowText }) => (rowText === undefined ? [] : JSON.stringify(rowText)));
  const columns = told.flatMap(({ column }) => column ?? []);
  const among = (ways: readonly string[], all: string, option: string) =>
    `in the site file, ${isNet ? '' : `where they are parts of one whole, which adds them: { path: …, ${all} }; `}where one of them is what counts: ${ways.map((way) => `{ path: …, ${way} }`).join(' or ')}; "duskbank inspect" takes ${option}`;
  if (readings.length === told.length)
    return among(
      readings.map((reading) => `meterReading: ${reading}`),
      `meterReading: [${readings.join(', ')}]`,
      '--meter-reading',
    );
  if (texts.length === told.length && new Set(texts).size === texts.length)
    return among(
      texts.map((one) => `rows: { ${texts.flatMap((text) => (text === one ? [] : `${text}: ignore`)).join(', ')} }`),
      `rows: { ${texts.map((text) => `${text}: ${role}`).join(', ')} }`,
      '--rows',
    );
  if (columns.length === told.length && new Set(columns).size === columns.length)
    return among(
      told.map((stream) => `columns: { ${isNet ? (stream.role ?? role) : role}: ${stream.column} }`),
      `columns: { ${role}: [${columns.join(', ')}] }`,
      '--columns',
    );
  return undefined;
}

/** The sum alone, or its parts without it. */
function registersHint(parts: readonly number[], total: unknown, isSum: unknown): string {
  const registers = `{ path: …, columns: { import: [${parts.join(', ')}] } }`;
  const flags = `--columns ${parts.map((part) => `import=${part}`).join(' ')}`;
  if (total === undefined)
    return `where they are what the home took, add them, in the site file: ${registers}; "duskbank inspect" takes ${flags}`;
  const alone = `{ path: …, columns: { import: ${total} } }`;
  return isSum === true
    ? `where they are what the home took, read the sum alone, in the site file: ${alone}; or the registers without it: ${registers}; never all of them; "duskbank inspect" takes --columns import=${total}, or ${flags}`
    : `a bill of those days shows which is what the home took; the registers, in the site file: ${registers}; the other alone: ${alone}; never all of them; "duskbank inspect" takes ${flags}, or --columns import=${total}`;
}

/** Circuits count within the whole home, never beside it. */
function wholeHint(whole: number, role: string): string {
  return `name the whole alone, without the circuits that it feeds, in the site file: { path: …, columns: { ${role}: ${whole} } }; "duskbank inspect" takes --columns ${role}=${whole}`;
}

/** Of columns of one kind, either one is the whole, or several are its parts; where they count one at a time, none is the whole. */
function alikeHint(columns: readonly number[], role: string, byTurns: boolean): string {
  const all = `in the site file: { path: …, columns: { ${role}: [${columns.join(', ')}] } }`;
  const flags = `"duskbank inspect" takes --columns ${columns.map((column) => `${role}=${column}`).join(' ')}`;
  return byTurns
    ? `they count one at a time, as registers of a tariff’s windows do: add them, ${all}; ${flags}`
    : `if they are parts of the home (phases, mains, registers of a tariff’s windows), add them, ${all}, without a total of the others or a single circuit; if one of them is the total, name that alone: { path: …, columns: { ${role}: ${columns[0]} } }; ${flags}`;
}

/** A name may be wrong: then the column and its unit are stated together. */
function inactiveHint(column: number): string {
  return `download the kWh ("active energy"); where the name is wrong and the values are kWh all the same, in the site file: { path: …, columns: { import: ${column} }, unit: kWh }; "duskbank inspect" takes --columns import=${column} --unit kWh`;
}

/** What choosing one of two records of a day leaves out. */
function twiceHint(hint: string, { firstKwh, secondKwh }: Readonly<Record<string, unknown>>): string {
  const without = (value: unknown) => `which leaves out ${kwhDigits(Number(value)).toLocaleString('en-US')} kWh`;
  return hint.replace(
    'repeats: last } (or first)',
    `repeats: last }, ${without(firstKwh)} (or first, ${without(secondKwh)})`,
  );
}

/** How to cut one of two files that differ on a few days, and how parts of one home are added. */
function overlapHint({ dayBefore, dayAfter, beside }: Readonly<Record<string, unknown>>): string {
  if (Array.isArray(beside))
    return `. Of ${listed(beside as readonly string[])}: where it is a register beside what the other file holds (a controlled load beside general usage), say so of its own file, { path: …, repeats: add }, and the two are added; where the other file holds it too (a total), leave its file out`;
  const cut =
    dayBefore === undefined
      ? ''
      : `. They differ on a few days alone: cut the one that is wrong there, { path: …, span: { to: "${dayBefore}" } } where it begins earlier, { path: …, span: { from: "${dayAfter}" } } where it ends later`;
  return `${cut}. Where both are parts of the home (two meters, two registers), put them into one file, which adds them: the records of one NEM12 file below those of the other, with usagePoint: [1, 2] where their connection points differ; the columns of one table beside those of the other, with columns: { import: [2, 3] }`;
}

/** What the channels have in common, where they have anything. */
function spanHint(spans: readonly { readonly from: string; readonly to: string }[]): string {
  const from = spans.map((span) => span.from).reduce((a, b) => (a > b ? a : b));
  const to = spans.map((span) => span.to).reduce((a, b) => (a < b ? a : b));
  if (from > to) return 'download the missing part: the files have no day in common';
  return `download the missing part, or cut all to what they have in common: under "meter" state "span": { "from": "${from}", "to": "${to}" }`;
}

/** What to state for each unit that is left. */
function unitHint(choices: readonly UnitChoice[], channels: readonly string[]): string {
  const scales = (times: number, mark: string) => channels.map((channel) => `${channel}${mark}${times}`);
  const inFile = choices.map(({ unit, times }) =>
    times === 1
      ? `${unit}: { path: …, unit: ${unit} }`
      : `${times} ${unit}: { path: …, unit: ${unit}, adjust: { scale: { ${scales(times, ': ').join(', ')} } } }`,
  );
  const flags = choices.map(({ unit, times }) =>
    times === 1 ? `--unit ${unit}` : `--unit ${unit} --scale ${scales(times, '=').join(' ')}`,
  );
  // A meter's pulses may be of any size: 1, 1.25 or 10 Wh.
  const pulses = choices.some(({ times }) => times !== 1)
    ? ` Where none does and the values count pulses, the meter’s face says how many make a kWh; of 800: { path: …, unit: kWh, adjust: { scale: { ${scales(0.00125, ': ').join(', ')} } } }.`
    : '';
  return `look at one bill: which makes its kWh? In the site file, where a value counts ${inFile.join('; ')}.${pulses} ${choices.every(({ times }) => times === 1) ? '"duskbank check" and "duskbank inspect" take' : '"duskbank inspect" takes'} ${flags.join(', or ')}`;
}
