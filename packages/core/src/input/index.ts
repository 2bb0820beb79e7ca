export type { Fact, Severity, Where } from '../words/fact.ts';
export { showValue } from '../words/quote.ts';
export {
  checkDocument,
  decodeDocument,
  describeIssue,
  fields,
  formatPath,
  nearestName,
  printedBound,
  quoteName,
  reportIssue,
  showKey,
  showName,
  tooDeep,
  visible,
  visibleJson,
} from './checked.ts';
export type { Checked } from './document.ts';
export { InputError, type InputIssue } from './issue.ts';
export { monthsInWords } from './months.ts';
export { numberCure } from './number-cure.ts';
export type { SourceDocument, YamlDecoder } from './source.ts';
