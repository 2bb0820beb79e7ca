/** What is told of labels that are read so. */
export const UTC_BY_NAME = 'labels are UTC: by the column’s name';

/** Names of clocks besides, and of a column that holds a distance from UTC. */
const OTHER = /offset|diff|versatz|décalage|desfase|shift|local|lokal|locale|(?:utc|gmt)\s*\/|\/\s*(?:utc|gmt)/i;

/** UTC in a name, with no distance from it behind. */
const UTC =
  /(?:(?<![\p{L}\p{N}])|(?<=time|stamp|date|zeit))(?:utc|gmt|zulu)(?:(?![\p{L}\p{N}])|(?=time|stamp|date))(?!\s*[(]?\s*(?:[+−–±-]\s*)?0*[1-9])|[([]\s*z\s*[)\]]/iu;

/**
 * Whether a column’s name says that its times are UTC: `timestamp_utc`, `Zeit (UTC)`, `Time (GMT+0)`, `Time [Z]`. One with a
 * distance from it (`UTC+1`) names another clock.
 */
export function namesUtc(name: string): boolean {
  const text = name
    .slice(0, 200)
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .replace(/(UTC|GMT)(?=[A-Z][a-z])/g, '$1 ');
  return !OTHER.test(text) && UTC.test(text);
}
