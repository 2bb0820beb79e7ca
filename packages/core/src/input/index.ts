export { type Checked, checkDocument, fields } from './document.ts';
export {
  describeIssue,
  formatPath,
  formatWhere,
  InputError,
  type InputIssue,
  showValue,
  type Where,
} from './issue.ts';
export { nearestName } from './suggest.ts';
