// What other folders of core import beside index.ts: functions that check nothing, and rules that checks are made of.

export { kw } from '../words/figures.ts';
export { noteBilled } from './billed.ts';
export { darkExport } from './dark-export.ts';
export type { ToldBill } from './espi/bills.ts';
export { FindingList } from './findings.ts';
export { type SettledChannels, settleChannels } from './home/settle.ts';
export { darkIntervals, sunDays } from './metering/daylight.ts';
export { noteNetSigns } from './metering/net-signs.ts';
export { type MoneyColumn, readMoney, readToldBills } from './money-column.ts';
export { textOrBytes } from './options.ts';
export { withoutHeld } from './place/unread-registers.ts';
export { type PlainTable, plainTable } from './plain-table.ts';
export { LONG_GAP_HOURS, MOST_FILLED_SHARE } from './repair.ts';
export { meteredSeries, someFindings } from './rules.ts';
export { meterFileSchema, meterSourceSchema } from './schema.ts';
export { readingsAboveService, SERVICE_KW } from './service.ts';
export { cutToSpan, dateAt, longestWholeSpan, type MissingSpan, missingSpans } from './span.ts';
export { splitAxis, splitSteps, spreadEvenly } from './split.ts';
export { openIntervals } from './spreadsheet.ts';
export { spreadsheetOf } from './spreadsheet-kind.ts';
export { statesRoles } from './stated-roles.ts';
export { asksHome, stopsStudy } from './stops.ts';
export { wordsOf } from './table/header.ts';
export { monthOf, plainLetters } from './table/languages.ts';
export { StampReader } from './table/stamps.ts';
