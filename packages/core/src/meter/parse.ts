import { isZone } from '../axis/index.ts';
import { assemble } from './assemble.ts';
import { decodeText, looksBinary } from './decode.ts';
import { FindingList } from './findings.ts';
import { isIntervalFile, readIntervalFile } from './interval-file.ts';
import { readLong } from './long.ts';
import { MAX_BYTES, type ParseOptions } from './options.ts';
import type { IntervalData } from './series.ts';
import { findShape, openTable } from './table.ts';

/**
 * Reads interval data as utilities, meters and monitors hand them out.
 *
 * The layout is recognised by evidence, which the result lists; whatever is stated in `options` replaces
 * recognition. Nothing is guessed in silence: where the evidence leaves a choice that would change energy,
 * there is an `error` finding that says what to state, and no series. Never throws on content.
 *
 * Reading never depends on the machine's zone or on today's date.
 *
 * @param input the file's text, or its bytes (UTF-8, UTF-16 or Windows-1252)
 * @param options what the user states; `zone` is needed unless the file is in the project's own format
 * @returns series in kWh an interval on a UTC axis (NaN: gap), findings, and how the file was understood
 * @see docs/concepts/meter.md
 * @example parseIntervalData('start,import_kwh\n2026-01-01 00:00,0.2\n2026-01-01 00:15,0.3\n', { zone: 'America/Denver' })
 */
export function parseIntervalData(input: string | Uint8Array, options: ParseOptions = {}): IntervalData {
  const findings = new FindingList();
  const none = (name: string, evidence: readonly string[] = []): IntervalData => ({
    findings: findings.list(),
    layout: { name, evidence },
  });
  if (options.zone !== undefined && !isZone(options.zone)) {
    findings.add('unknown-zone', 'error', 'the stated zone is no IANA time zone such as "America/Denver"');
    return none('unknown');
  }
  const most = options.maxBytes ?? MAX_BYTES;
  if (input.length > most) {
    findings.add('too-large', 'error', `the file has ${input.length} bytes; at most ${most} are read`);
    return none('unknown');
  }
  let text = typeof input === 'string' ? input : decodeText(input, findings);
  if (text.charCodeAt(0) === 0xfeff) text = text.slice(1);
  if (text.trim() === '') {
    findings.add('empty', 'error', 'the file is empty');
    return none('unknown');
  }
  if (looksBinary(text)) {
    findings.add('binary', 'error', 'the file is no text');
    return none('unknown');
  }
  if (isIntervalFile(text)) {
    const read = readIntervalFile(text, findings);
    if (read !== undefined || findings.hasError)
      return {
        ...none('interval file of our own', ['the first line says format: duskbank.interval/1']),
        ...(read === undefined ? {} : { series: read }),
      };
  }
  const table = openTable(text, findings);
  if (table === undefined) return none('unknown');
  const shape = findShape(table, options.decimal, findings);
  if (shape === undefined) return none('unknown');
  const readings = readLong(table, shape, options, findings);
  if (readings === undefined || findings.hasError) return none(readings?.layout ?? 'table', readings?.evidence);
  const { zone } = options;
  if (zone === undefined) {
    findings.add(
      'zone-missing',
      'error',
      'the zone of the labels is not known: state `zone`, an IANA time zone such as "America/Denver"',
    );
    return none(readings.layout, readings.evidence);
  }
  const series = assemble(readings, { ...options, zone }, findings);
  return {
    ...none(readings.layout, readings.evidence),
    ...(series === undefined || findings.hasError ? {} : { series }),
  };
}
