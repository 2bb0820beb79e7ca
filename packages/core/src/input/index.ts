export { type Checked, checkDocument, fields } from './document.ts';
export { figure, percent } from './figures.ts';
export {
  describeIssue,
  formatPath,
  formatWhere,
  InputError,
  type InputIssue,
  reportIssue,
  type Where,
} from './issue.ts';
export { quoteCell, showCell, showKey, showName, showValue } from './quote.ts';
export { decodeDocument, type SourceDocument, tooDeep, withLines, type YamlDecoder } from './source.ts';
export { nearestName } from './suggest.ts';
export { visible, visibleJson } from './visible.ts';
