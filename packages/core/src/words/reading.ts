import { count, digits, kwhDigits, percent } from './figures.ts';
import { quoteName } from './quote.ts';
import { describeStep } from './steps.ts';
import { type ToldStream, tellStreams } from './streams.ts';

/** A unit that values may be in, each of them so many of it, and what a day then comes to. */
export interface UnitChoice {
  readonly unit: string;
  readonly times: number;
  readonly dailyKwh: number;
}

const ARCHIVE_DAMAGE = {
  contradiction: 'the list of its members and the members themselves contradict each other',
  'cut-off': 'it is cut off',
  'no-list-of-members': 'it is cut off: the list of its members, which ends it, is missing',
  'not-unpacked': 'its data can’t be unpacked',
  'wrong-checksum': 'what it unpacks to does not fit the checksum that was stored with it',
};

type ArchiveDamage =
  | { readonly why: keyof typeof ARCHIVE_DAMAGE }
  | { readonly why: 'bytes-after-end'; readonly bytes: number };

/** Which limit an archive met. */
type ArchiveExcess =
  | { readonly why: 'bytes'; readonly mostBytes: number }
  | { readonly why: 'expansion'; readonly mostExpansion: number }
  | { readonly why: 'members'; readonly mostMembers: number };

function archiveExcess(data: ArchiveExcess): string {
  switch (data.why) {
    case 'bytes':
      return `it unpacks to more than ${data.mostBytes} bytes`;
    case 'expansion':
      return `it expands more than ${data.mostExpansion}-fold, as no meter file does`;
    case 'members':
      return `it has more than ${data.mostMembers} members`;
  }
}

type ArchiveOddity =
  /** `method` is zip's own number of a way of packing. */
  { readonly why: 'method'; readonly method: number } | { readonly why: 'one-of-several-files' | 'same-name' };

function archiveOddity(data: ArchiveOddity): string {
  switch (data.why) {
    case 'method':
      return `it is packed by method ${data.method} of zip, which is not read`;
    case 'one-of-several-files':
      return 'it is one part of an archive of several files';
    case 'same-name':
      return 'it holds two members of one name, and which one counts can’t be told';
  }
}

/** Why XML is no feed that is read. */
export type XmlRefusal =
  | { readonly why: 'document-type' }
  | { readonly why: 'nested-too-deep'; readonly mostDepth: number }
  | {
      readonly why: 'not-well-formed';
      /** `detail` is the parser's own word for it, without any text of the file. */
      readonly fault?: { readonly line: number; readonly detail: string };
    };

function xmlRefusal(data: XmlRefusal): string {
  switch (data.why) {
    case 'document-type':
      return 'it has a document type declaration, which no meter file needs';
    case 'nested-too-deep':
      return `its elements are nested more than ${data.mostDepth} deep`;
    case 'not-well-formed':
      return `it is not well-formed${data.fault === undefined ? '' : ` (line ${data.fault.line}: ${data.fault.detail})`}`;
  }
}

const NO_READINGS = {
  'all-blank': 'every value is blank',
  'none-found': 'no reading was found',
  'none-placed': 'no reading could be placed in time',
  'no-day': 'no row could be read as a day',
  'no-electric-energy': 'the feed holds no electric energy',
  'no-interval': 'no row could be read as an interval',
  'no-interval-reading': 'the XML holds no interval readings of ESPI',
  'no-record': 'the file holds no readable record of active energy',
  'no-rows': 'the file has no rows',
  'nothing-to-join': 'there is nothing to join',
  'partly-missing': 'each interval lacks some of the shorter readings that it is to be summed from',
  'parts-apart': 'at no time are all registers known that it is to be added up from',
};

/** Load of zero while the sun shines: it may be import, and the solar beside it export. */
type NoUseInSun = {
  readonly why: 'no-use-in-sun';
  /** Columns, or kinds of rows, of use and of generation, fit to print. */
  readonly used: readonly string[];
  readonly made: readonly string[];
  /** Of the intervals with generation, those in which nothing is used. */
  readonly unusedShare: number;
};

function noUseInSun({ used, made, unusedShare }: NoUseInSun, option: 'rows' | 'columns'): string {
  return `${used.join(', ')} hold 0 in ${percent(unusedShare)} of the intervals in which ${made.join(', ')} don’t: they may be import and export, not load and solar: state \`${option}\`, which of the two they are`;
}

const NO_TIME_COLUMN = {
  'no-dates': 'no column holds dates',
  'no-rows': 'no rows with a date and a value were found',
  'no-table': 'no line holds a date and a value parted by comma, semicolon, tab or bar: this is no table of intervals',
};

const UNREADABLE_ROW = {
  'no-date-or-time': 'rows whose date or time can’t be read were left out',
  'no-reading-time': 'readings without a readable time were left out',
  'out-of-order':
    'rows must follow each other step by step, each with its start as in 2026-01-01T00:00-07:00 and a cell (blank: a gap) for every column',
  'record-200': 'records of type 200 without a usable interval length were left out',
  'no-record-200': 'records of type 300 stand above every record 200: which register they are of is lost',
  'no-direction':
    'a record 200 of energy (kWh) has no suffix that says whether it was taken from the grid (E1, E2 …), given to it (B1 …) or both (N1)',
  'record-300': 'records of type 300 without a date that exists were left out',
  'record-400':
    'records of type 400 that name no intervals of their day, or no quality of these (A, E, F, N or S: V stands on records 300 alone), were left out',
};

type Mark = 'comma' | 'point';

interface MixedMarks {
  /** Decimals have another mark beside `mark`, or they come where numbers were whole. */
  readonly why: 'after-whole-numbers' | 'in-other-rows';
  readonly column: string;
  readonly mark: Mark;
  readonly otherMark: Mark;
}

interface UnclearMark {
  readonly column: string;
  readonly mark: Mark;
  readonly sumIfThousands: number;
  readonly sumIfDecimals: number;
}

function fourDigits(value: number): number {
  return Number(value.toPrecision(4));
}

interface OffsetDiffers {
  readonly why: 'other-offset' | 'wrong-sign';
  readonly feedSeconds: number;
  readonly zoneSeconds: number;
}

interface UnknownColumn {
  /** Of the option `columns`. */
  readonly field: string;
  readonly width: number;
  readonly columns: readonly string[];
}

/** A usage point or meter, and what it holds: its energy where the unit is known to be one of energy. */
interface Point {
  readonly usagePoint: number;
  readonly streams: readonly { readonly role: string; readonly energyKwh?: number; readonly readings: number }[];
}

function tellPoint({ usagePoint, streams }: Point): string {
  const told = streams.map(
    ({ role, energyKwh, readings }) =>
      `${role} ${energyKwh === undefined ? count(readings, 'reading') : `${energyKwh.toFixed(1)} kWh`}`,
  );
  return `${usagePoint}: ${told.join(', ')}`;
}

/** What is told of a file on its way to rows: archives, texts, tables, feeds. */
export const READING_WORDS = {
  /** Corrections of a metering fault were applied, as stated. */
  adjusted: ({ corrections }: { readonly corrections: readonly string[] }) =>
    `corrections of a metering fault were applied, as stated: ${corrections.join(', ')}`,
  /** The archive was cut, changed or added to on its way. Download it again. */
  'archive-damaged': (data: ArchiveDamage) =>
    `the archive is damaged: ${data.why === 'bytes-after-end' ? `${data.bytes} bytes follow its end and belong to nothing` : ARCHIVE_DAMAGE[data.why]}`,
  /** The archive holds no text or XML file. */
  'archive-empty': ({ why }: { readonly why: 'no-data-file' | 'only-archives' }) =>
    why === 'no-data-file'
      ? 'the archive holds no .csv, .txt or .xml file'
      : 'the archive holds nothing but further archives',
  /** The archive is locked with a password. Unpack it. */
  'archive-locked': (_: { readonly why: 'password' }) => 'the archive can’t be opened: it is locked with a password',
  /** Members of the archive hold no interval data that can be read. */
  'archive-members-left': ({ left, members }: { readonly left: number; readonly members: number }) =>
    `${left} of ${members} members of the archive hold no interval data that can be read`,
  /** The archive unpacks to more than any meter file. */
  'archive-too-large': (data: ArchiveExcess) => `the archive was refused: ${archiveExcess(data)}`,
  /** The archive is of a kind that is not read. Unpack it. */
  'archive-unreadable': (data: ArchiveOddity) => `the archive is of a kind that is not read: ${archiveOddity(data)}`,
  /** A column is of a battery: the data may already contain one. */
  'battery-in-data': ({ column }: { readonly column: string }) =>
    `${column} is of a battery: the data may already contain one`,
  /** The file is no text. */
  binary: () => 'the file is no text',
  /** Nothing says what the values measure; they were taken as import. State `channel` or `columns`. */
  'channel-assumed': (
    data: { readonly why: 'no-direction' | 'no-word' } | { readonly why: 'lone-column'; readonly column: string },
  ) => {
    if (data.why === 'lone-column')
      return `${data.column} is the only one with numbers and doesn't say what it measures: taken as import; state \`channel\` or \`columns\``;
    return data.why === 'no-direction'
      ? 'a meter reading doesn’t say in which direction energy flowed: taken as import; state `channel`'
      : 'nothing says what the values measure: taken as import; state `channel`';
  },
  /** A code of ESPI that says nothing here. */
  'code-unknown': ({ element, value }: { readonly element: string; readonly value: number }) =>
    `the feed has ${element} ${value}, which says nothing here`,
  /** `columns` names one column twice. */
  'column-twice': ({ column }: { readonly column: string }) =>
    `${column} is named twice in "columns": its energy would count twice`,
  /** Columns with energy that were not read; of more than twelve, `others` counts those that `columns` doesn't name. */
  'columns-ignored': ({ columns, others }: { readonly columns: readonly string[]; readonly others: number }) =>
    `not read: ${columns.join(', ')}${others > 0 ? ` and ${others} more` : ''}`,
  /** Several columns could hold the energy, or none does. State `columns`. */
  'columns-unclear': (
    data:
      | NoUseInSun
      | {
          readonly why: 'alike';
          readonly columns: readonly string[];
          readonly columnNumbers: readonly number[];
          readonly role: string;
          /** The one that is named as the whole home, where no other exceeds it. */
          readonly whole?: string;
          readonly wholeNumber?: number;
          /** They count one at a time, so that none is the total of others. */
          readonly byTurns?: true;
        }
      | {
          /** Names of price windows, and of their total. */
          readonly why: 'registers';
          readonly parts: readonly string[];
          readonly partNumbers: readonly number[];
          readonly total?: string;
          readonly totalNumber?: number;
          readonly isSum?: boolean;
        }
      | {
          readonly why: 'no-energy';
          /** Those that hold numbers and no time or price. */
          readonly columnNumbers: readonly number[];
        }
      | { readonly why: 'own-header' }
      | {
          readonly why: 'left-over';
          readonly columns: readonly { readonly column: string; readonly energyKwh: number }[];
          readonly read: readonly string[];
          /** Of those read. */
          readonly columnNumbers: readonly number[];
        }
      | { readonly why: 'unnamed'; readonly columnNumbers: readonly number[] }
      | { readonly why: 'both-ways'; readonly columns: readonly string[]; readonly role: string },
  ) => {
    switch (data.why) {
      case 'alike':
        return `${data.columns.join(', ')} all look like ${data.role}${data.whole === undefined ? '' : `, and none is above ${data.whole}, as circuits behind it are`}: state \`columns\``;
      case 'registers': {
        const parts = `${data.parts.join(' and ')} look like registers of a tariff’s windows`;
        if (data.total === undefined) return `${parts}, and nothing says what they measure: state \`columns\``;
        return `${parts}, and ${data.total} ${data.isSum === true ? 'is' : 'is not'} their sum: state \`columns\``;
      }
      case 'left-over': {
        const left = data.columns.map(({ column, energyKwh }) => `${column} (${kwhDigits(energyKwh)} kWh)`);
        return `${left.join(', ')} ${left.length === 1 ? 'is' : 'are'} neither a copy nor a sum nor a part of what would be read (${data.read.join(', ')}): state \`columns\`, what each measures, or only those that count`;
      }
      case 'both-ways':
        return `${data.columns.join(' and ')} are stated as ${data.role} together, and their names say that one is bought and the other sold: their sum is neither`;
      case 'no-energy':
        return 'no column holds an energy or a power';
      case 'no-use-in-sun':
        return noUseInSun(data, 'columns');
      case 'own-header':
        return 'the header is not start, then some of import_kwh, export_kwh, load_kwh, solar_kwh, estimated';
      case 'unnamed':
        return `columns ${data.columnNumbers.join(', ')} hold numbers and none says what it measures: state \`columns\``;
    }
  },
  /** Day and month can't be told apart: state `dateOrder`; or a spreadsheet has exchanged them in some dates. */
  'date-order-unclear': ({ why }: { readonly why: 'either' | 'exchanged' }) =>
    why === 'either'
      ? 'nothing in the dates tells day and month apart: state `dateOrder` (day-first or month-first)'
      : 'day and month are exchanged in the dates whose day is 12 or less, and not in the others, as a spreadsheet set to another country does: open the download itself, not the saved table, or mend the dates',
  /** Decimals with a point in some rows and with a comma in others. */
  'decimal-mixed': ({ why, column, mark, otherMark }: MixedMarks) =>
    why === 'in-other-rows'
      ? `${column} writes decimals with a ${mark}, and in these lines with a ${otherMark}`
      : `${column} has whole numbers at first and decimals with a ${otherMark} later: state \`decimal\``,
  /** A mark may part thousands or decimals; the sums show what either makes of the column. State `decimal`. */
  'decimal-unclear': ({ column, mark, sumIfThousands, sumIfDecimals }: UnclearMark) =>
    `${column} has whole numbers, and numbers with a ${mark} that three digits always follow: it may part thousands (${fourDigits(sumIfThousands)} in all) or mark decimals (${fourDigits(sumIfDecimals)} in all): state \`decimal\`, the mark before decimals`,
  /** Nothing stands in the file. */
  empty: () => 'the file is empty',
  /** The text is not valid UTF-8, and was read in the coding that spreadsheets of old write. */
  'encoding-guessed': () => 'the text is not valid UTF-8: read as Windows-1252',
  /** Times of an ESPI feed look like standard time written as UTC. State `clock`. */
  'epoch-not-utc': () =>
    'each day’s block starts at midnight of UTC and not of the zone: the times may be local standard time written as UTC; if so state `clock` standard (or utc to confirm)',
  /** Rows have more or fewer fields than the header, as an unquoted decimal comma makes them. */
  'fields-differ': ({ why, fields }: { readonly why: 'decimal-comma' | 'fewer' | 'more'; readonly fields: number }) =>
    why === 'decimal-comma'
      ? `rows have more fields than the ${fields} of the header, and digits stand in them as after a decimal comma: 0,780 was cut into 0 and 780`
      : `rows have ${why} fields than the ${fields} of the header: it isn’t known which value stands under which name`,
  /** The file is of another version of the project's own format. */
  'format-unknown': ({ format, readFormat }: { readonly format?: string; readonly readFormat: string }) =>
    `the file is of ${format ?? 'another version of the interval format'}; ${readFormat} is read`,
  /** Times lost their AM and PM, and the order of the rows gave them back. */
  'half-days-restored': () =>
    'no time is after 12:59, and each stands twice a date: AM and PM are lost; the first run of a date was taken as its morning, the second as its afternoon',
  /** Times lost their AM and PM, and the order of the rows doesn't give them back. */
  'half-days-unclear': () =>
    'no time is after 12:59, and many stand twice on their date: AM and PM are lost, and the rows don’t run through each date twice, so nothing tells morning from afternoon',
  /** A line is longer than any of a meter file. */
  'line-too-long': ({ characters, mostCharacters }: { readonly characters: number; readonly mostCharacters: number }) =>
    `a line has ${characters} characters: no meter file's has more than ${mostCharacters}`,
  /** Some labels have an offset from UTC and others have none; the fewer were left out. */
  'mixed-offsets': () => 'some rows state an offset from UTC and others do not: the fewer were left out',
  /** More rows can't be read than can. */
  'mostly-unreadable': ({ unreadable, read }: { readonly unreadable: number; readonly read: number }) =>
    `${unreadable} rows could not be read, only ${read} could`,
  /** The file holds daily or monthly figures: steps of an hour or less are needed. */
  'no-interval-data': (
    data:
      | { readonly why: 'no-time-of-day' }
      /** Readings that most dates have. */
      | { readonly why: 'times-lost'; readonly aDate: number }
      | { readonly why: 'months' }
      | { readonly why: 'far-apart'; readonly stepHours: number },
  ) => {
    if (data.why === 'no-time-of-day')
      return 'rows have a date and no time of day: these are daily or monthly figures, no interval data';
    if (data.why === 'times-lost')
      return `rows have a date and no time of day, and ${data.aDate} readings share a date: the times of intervals are lost, as where a spreadsheet shows dates alone`;
    if (data.why === 'months')
      return 'rows hold a month and a figure each: these are monthly figures, no interval data';
    const apart = data.stepHours >= 24 ? `${Math.round(data.stepHours / 24)} days` : `${data.stepHours} hours`;
    return `readings are ${apart} apart: this is no interval data (steps of 60 minutes or less)`;
  },
  /** Columns or rows hold apparent or reactive energy, and nothing says what was active. State `columns` and `unit`. */
  'not-active-energy': ({
    quantity,
    columns,
  }: {
    readonly quantity: 'apparent' | 'reactive';
    /** None where rows print it, or a line above them. */
    readonly columns?: readonly string[];
    readonly columnNumbers?: readonly number[];
  }) => {
    const what =
      quantity === 'apparent'
        ? 'apparent energy (kVAh): it counts current that does no work too, so it is as much as the kWh of a bill or more, never the same'
        : 'reactive energy (kvarh), which does no work: it is no part of the kWh of a bill';
    if (columns === undefined) return `the file says that its values are ${what}`;
    return `${columns.join(', ')} ${columns.length === 1 ? 'holds' : 'hold'} ${what}`;
  },
  /** The file holds something else than a meter's readings: weather, prices, gas or water. */
  'not-meter-data': ({
    holds,
  }: {
    readonly holds: 'weather' | 'prices' | 'gas-or-water';
    /** Those that hold numbers and no time or price. */
    readonly columnNumbers: readonly number[];
  }) =>
    ({
      weather:
        'its columns hold weather (sunshine, temperature and the like), no energy of a home: this is no meter file',
      prices:
        'its columns hold prices, no energy of a home: this is no meter file; a tariff file names a file of prices in "series"',
      'gas-or-water': 'its columns hold gas or water, no electricity: this is no meter file of use here',
    })[holds],
  /** The file is a document of another kind, which holds no table. */
  'other-document': ({ is }: { readonly is: 'pdf' | 'web-page' | 'json' }) =>
    ({
      pdf: 'this is a PDF, a page to print',
      'web-page': 'this is a web page (HTML): a portal gives one where the login has expired',
      json: 'this is JSON, a form for programs, in which interval data are not read',
    })[is],
  /** There is nothing to read. */
  'no-readings': ({ why }: { readonly why: keyof typeof NO_READINGS }) => NO_READINGS[why],
  /** No column holds dates. */
  'no-time-column': ({ why }: { readonly why: keyof typeof NO_TIME_COLUMN }) => NO_TIME_COLUMN[why],
  /** Text stands where a number is expected; it was taken as no value, in the project's own format as an error. */
  'not-a-number': (
    data:
      | { readonly why: 'column' | 'own-column'; readonly column: string }
      | { readonly why: 'day-columns' | 'record-300' },
  ) => {
    switch (data.why) {
      case 'column':
        return `${data.column} holds text where a number is expected: taken as no value`;
      case 'day-columns':
        return 'cells hold text where a number is expected: taken as no value';
      case 'own-column':
        return `column ${quoteName(data.column)} must hold kWh of zero or more${data.column === 'estimated' ? ' (estimated: 0, 1 or 2)' : ''}, or nothing`;
      case 'record-300':
        return 'a 300 record holds text where a number is expected: taken as no value';
    }
  },
  /** The feed states another offset from UTC than the stated zone has; the zone counts. */
  'offset-differs': ({ why, feedSeconds, zoneSeconds }: OffsetDiffers) =>
    why === 'wrong-sign'
      ? 'the feed states the zone’s offset from UTC with the wrong sign; the stated zone counts'
      : `the feed states a standard offset of ${feedSeconds} s from UTC, the stated zone has ${zoneSeconds} s; the stated zone counts`,
  /** Gas or water, left out. */
  'other-commodity': ({ left }: { readonly left: 'readings' | 'rows' }) => `${left} of gas or water were left out`,
  /** Something else than active energy or power, left out. */
  'other-quantity': ({ left }: { readonly left: 'extremes' | 'readings' | 'rows' }) =>
    left === 'extremes'
      ? 'readings of maximum or minimum demand were left out'
      : `${left} of something else than active energy or power were left out`,
  /** A day of NEM12 has the quality V (variable), and no record 400 says which some of its readings have: gaps. */
  'quality-missing': () =>
    'readings of days of variable quality (V) became gaps: no record 400 below their record 300 says which quality they have',
  /** A record 400 of NEM12 stands where no day is that it can speak of: the quality of another day is lost. */
  'quality-misplaced': ({ why }: { readonly why: 'no-day' | 'not-variable' }) =>
    why === 'no-day'
      ? 'a record 400 follows no record 300: of which day it tells the quality is lost'
      : 'a record 400 follows a record 300 whose own quality is not V (variable): it is of another day, or one of the two is mistaken',
  /** Quotation marks close nothing, and were read as plain characters. */
  'quotes-unbalanced': () => 'quotation marks are not balanced: read as plain characters',
  /** ESPI readings have no reading type: their size tells what they measure. */
  'reading-type-missing': () => 'readings have no reading type: what they measure is taken from their size',
  /** Registers of one channel were added. */
  'registers-added': ({ columns, role }: { readonly columns: readonly string[]; readonly role: string }) =>
    `${columns.join(', ')} are registers of ${role}: added`,
  /** Rows without a date and a time, such as headings and footers, were left out. */
  'row-without-time': () => 'rows without a date and a time were left out',
  /** It isn't understood what rows measure, or which column tells them apart. State `rows`. */
  'rows-unclear': (
    data:
      | NoUseInSun
      | { readonly why: 'not-understood'; readonly streams: readonly ToldStream[] }
      | { readonly why: 'too-many-texts'; readonly mostTexts: number },
  ) => {
    if (data.why === 'no-use-in-sun') return noUseInSun(data, 'rows');
    if (data.why === 'not-understood')
      return `nothing known here says what ${tellStreams(data.streams)} measure: state \`rows\`, what each of them is by its text (import, export, load, solar, net, ignore)`;
    return `the column that should tell rows apart has more than ${data.mostTexts} different texts: name another with \`columns.type\`, or say what all rows are with \`rows\`, such as *=import`;
  },
  /** The file holds several usage points or meters, of which at most eight are told. State `usagePoint`. */
  'several-usage-points': ({ usagePoints, told }: { readonly usagePoints: number; readonly told: readonly Point[] }) =>
    `the file holds ${usagePoints} usage points or meters (${told.map(tellPoint).join('; ')}): state \`usagePoint\`, one number or several to add`,
  /** Several sheets of a spreadsheet hold readings of the same time. State `sheet`. */
  'several-sheets': ({ sheets }: { readonly sheets: readonly string[] }) =>
    `several sheets hold readings: ${sheets.map((name) => quoteName(name)).join(', ')}; which one is meant?`,
  /** A spreadsheet of a kind that is not read. */
  'spreadsheet-kind': ({ kind }: { readonly kind: 'xlsx' | 'xlsb' | 'xls' | 'ods' }) =>
    kind === 'xlsx'
      ? 'a spreadsheet (.xlsx), which can’t be read here'
      : `a spreadsheet of another kind (${{ xlsb: '.xlsb, in binary', xls: '.xls, as spreadsheets were until 2007', ods: '.ods, an OpenDocument one' }[kind]})`,
  /** A spreadsheet is locked with a password. */
  'spreadsheet-locked': () => 'the spreadsheet can’t be opened: it is locked with a password',
  /** A spreadsheet can't be read, or has a cell so far out, or so many rows, that it is no table of readings. */
  'spreadsheet-unreadable': (
    data:
      | { readonly why: 'damaged' }
      | { readonly why: 'far-cell'; readonly mostCells: number }
      | { readonly why: 'many-rows'; readonly mostRows: number },
  ) =>
    data.why === 'damaged'
      ? 'the spreadsheet is damaged, or not as the standard says'
      : data.why === 'many-rows'
        ? `a sheet has more than ${data.mostRows.toLocaleString('en-US')} rows`
        : `a sheet spans more than ${data.mostCells.toLocaleString('en-US')} cells: a cell far below or to the right of the table has something in it`,
  /** The step doesn't fit into an hour, or the project's own format states one that it doesn't have. */
  'step-unsupported': (
    data:
      | { readonly why: 'stated'; readonly supportedMinutes: readonly number[] }
      | { readonly why: 'not-in-an-hour'; readonly stepMinutes: number },
  ) =>
    data.why === 'stated'
      ? `the comment "# step_minutes: …" is none of ${data.supportedMinutes.join(', ')}`
      : `an interval of ${describeStep(data.stepMinutes)} does not fit into an hour`,
  /** Days of NEM12 that are there again with a later update count as updated. */
  superseded: () => 'days that are there again with a later update count as updated',
  /** The file is above the size limit. */
  'too-large': ({ bytes, mostBytes }: { readonly bytes: number; readonly mostBytes: number }) =>
    `the file has ${bytes} bytes; at most ${mostBytes} are read`,
  /** A row of totals, or sums of days at midnight, were left out. */
  'totals-row': ({ why }: { readonly why: 'named-total' | 'sum-of-day' | 'date-without-time' }) => {
    if (why === 'named-total') return 'a totals row was left out';
    return `rows ${why === 'sum-of-day' ? 'at midnight' : 'of a date without a time'} that hold the sum of their day were left out`;
  },
  /** The last line is cut off, and was left out. */
  truncated: () => 'the last line is cut off: left out',
  /** A number stands before the unit, so that values may be multiples of it. State `unit`. */
  'unit-multiple': ({ columns, unit }: { readonly columns: readonly string[]; readonly unit: string }) =>
    `${columns.join(', ')} has a number before the unit ${unit}: values may count so many of it; state \`unit\`, and what one of a value is in it as \`adjust: { scale: … }\``,
  /** Several units fit the values or only an unusual home comes of them, or a column names a unit of heat, gas or water. State `unit`. */
  'unit-unknown': (
    data:
      | { readonly why: 'no-energy'; readonly columns: readonly string[] }
      | {
          readonly why: 'not-printed';
          /** Channels whose values these are. */
          readonly channels: readonly string[];
          readonly choices: readonly UnitChoice[];
        },
  ) => {
    if (data.why === 'no-energy')
      return `${data.columns.join(', ')} names a unit of heat, gas or water: state \`unit\``;
    const sizes = data.choices.map(
      ({ unit, times, dailyKwh }) =>
        `${times === 1 ? unit : `${times} ${unit}`} would make ${digits(dailyKwh, 3)} kWh a day`,
    );
    const rare = data.choices.length === 1 ? ': rare in homes, so it isn’t taken unasked' : '';
    return `nothing says in which unit the values are (${sizes.join(', ') || 'no unit gives a home’s daily energy'}${rare}): state \`unit\``;
  },
  /** A stated column isn't there; `columns` names the first twelve of those that are. */
  'unknown-column': ({ field, width, columns }: UnknownColumn) =>
    `\`columns.${field}\` names a column that the file doesn't have: it has ${width} columns, named ${columns.join(', ') || 'nowhere'}`,
  /** A stated meter reading isn't there. */
  'unknown-meter-reading': ({ meterReadings }: { readonly meterReadings: number }) =>
    meterReadings === 0
      ? '`meterReading` is stated, but only ESPI files have meter readings'
      : `\`meterReading\` names one that the file doesn’t have: it has ${meterReadings}, numbered from 1`,
  /** A text stated in `rows` isn't there, or no column for it. */
  'unknown-rows': (
    data: { readonly why: 'no-such-text'; readonly texts: number } | { readonly why: 'no-type-column' },
  ) =>
    data.why === 'no-such-text'
      ? `\`rows\` names ${data.texts === 1 ? 'a text' : `${data.texts} texts`} that no row has in its type column`
      : '`rows` is stated, but no column tells rows apart: name it with `columns.type`',
  /** The spreadsheet has no sheet of the stated name. */
  'unknown-sheet': ({ sheets }: { readonly sheets: readonly string[] }) =>
    `no sheet of the stated name has anything in it; there are ${sheets.map((name) => quoteName(name)).join(', ')}`,
  /** A stated usage point isn't there. */
  'unknown-usage-point': ({ usagePoints }: { readonly usagePoints: readonly number[] }) =>
    `\`usagePoint\` names a usage point that the file doesn’t have: it has ${usagePoints.join(', ')}`,
  /** No IANA zone is of the name that is stated. */
  'unknown-zone': ({ why }: { readonly why: 'in-the-file' | 'stated' }) =>
    why === 'stated'
      ? 'the stated zone is no IANA time zone such as "America/Denver"'
      : 'the comment "# zone: …" names no IANA time zone',
  /** Rows whose date or time can't be read were left out; in the project's own format an error. */
  'unreadable-row': ({ why }: { readonly why: keyof typeof UNREADABLE_ROW }) => UNREADABLE_ROW[why],
  /** A record 300 of NEM12 has more or fewer values than its interval length asks for: they would stand at other times. */
  'values-miscounted': ({
    minutes,
    wanted,
    found,
  }: {
    readonly minutes: number;
    readonly wanted: number;
    readonly found: number;
  }) =>
    `a record 300 has ${count(found, 'value')} before its quality, where the interval length of ${minutes} minutes in its record 200 asks for ${wanted}`,
  /** The XML is malformed, nested too deep, or has a document type. */
  'xml-refused': (data: XmlRefusal) => `the XML was refused: ${xmlRefusal(data)}`,
  /** The year of the dates is before 1970 or after 2200: no interval meter was there. */
  'year-impossible': ({ year }: { readonly year: number }) =>
    `the dates are of ${year}: no interval meter’s, so a digit of the year is wrong`,
  /** Dates have no year; one was taken. State `year`. */
  'year-missing': ({ year }: { readonly year: number }) =>
    `the dates have no year: ${year} was taken; state the right one with \`year\` ("duskbank inspect" takes --year)`,
  /** The zone isn't known. State `zone`. */
  'zone-missing': () => 'the zone of the labels is not known: state `zone`, an IANA time zone such as "America/Denver"',
} as const;
