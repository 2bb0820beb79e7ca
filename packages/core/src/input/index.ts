export {
  checkDocument,
  decodeDocument,
  describeIssue,
  fields,
  formatPath,
  nearestName,
  tooDeep,
} from './checked.ts';
export type { Checked } from './document.ts';
export { InputError, type InputIssue, showValue, type Where } from './issue.ts';
export type { SourceDocument, YamlDecoder } from './source.ts';
