export {
  checkDocument,
  decodeDocument,
  describeIssue,
  fields,
  formatPath,
  nearestName,
  reportIssue,
  showKey,
  showName,
  tooDeep,
  visible,
  visibleJson,
} from './checked.ts';
export type { Checked } from './document.ts';
export { InputError, type InputIssue, type Where } from './issue.ts';
export { showValue } from './quote.ts';
export type { SourceDocument, YamlDecoder } from './source.ts';
