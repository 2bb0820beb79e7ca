// Kept answers: see tests/support/kept.ts. Small feeds, NEM12 files and archives in which one field after the other is another.
import type { ParseOptions } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { altered, toldOf as told } from '../../support/altered.ts';
import * as archives from '../../support/archives.ts';
import { inOne } from '../../support/kept.ts';
import { drawn, rowsOf, sunny } from '../../support/ladders.ts';

const ODD = ['', '0', '1', '2', '-1', '7', '99999999999', 'x'];

describe('a feed', () => {
  const START = Date.UTC(2026, 2, 7, 7) / 1000;
  const reading = (i: number, value: number, more = '') =>
    `<IntervalReading>${more}<timePeriod><duration>3600</duration><start>${START + 3600 * i}</start></timePeriod><value>${value}</value></IntervalReading>`;
  const type = (n: number, flow: number) =>
    `<entry><link rel="self" href="/ReadingType/${n}"/><content><ReadingType><accumulationBehaviour>4</accumulationBehaviour><commodity>1</commodity><dataQualifier>12</dataQualifier><flowDirection>${flow}</flowDirection><intervalLength>3600</intervalLength><kind>12</kind><powerOfTenMultiplier>0</powerOfTenMultiplier><tou>0</tou><uom>72</uom></ReadingType></content></entry>`;
  const meter = (n: number, kwh: (i: number) => number) =>
    `<entry><link rel="self" href="/UsagePoint/1/MeterReading/${n}"/><link rel="related" href="/ReadingType/${n}"/><content><MeterReading/></content></entry>
${type(n, n === 1 ? 1 : 19)}
<entry><link rel="self" href="/UsagePoint/1/MeterReading/${n}/IntervalBlock/1"/><link rel="up" href="/UsagePoint/1/MeterReading/${n}/IntervalBlock"/><content><IntervalBlock><interval><duration>172800</duration><start>${START}</start></interval>${rowsOf(
      47,
      (i) =>
        reading(
          i,
          Math.round(1000 * kwh(i)),
          i === 1
            ? '<ReadingQuality><quality>8</quality></ReadingQuality><cost>2000</cost>'
            : i === 40
              ? '<cost>3000</cost>'
              : '',
        ),
    ).join('')}</IntervalBlock></content></entry>`;
  const feed = `<?xml version="1.0"?><feed><title>Feed</title>
<entry><link rel="self" href="/UsagePoint/1"/><content><UsagePoint><ServiceCategory><kind>0</kind></ServiceCategory></UsagePoint></content></entry>
<entry><link rel="self" href="/LocalTimeParameters/1"/><content><LocalTimeParameters><dstOffset>3600</dstOffset><tzOffset>-25200</tzOffset></LocalTimeParameters></content></entry>
${meter(1, drawn)}
${meter(2, sunny)}
<entry><link rel="self" href="/UsagePoint/1/UsageSummary/1"/><content><UsageSummary><billingPeriod><duration>172800</duration><start>${START}</start></billingPeriod><billLastPeriod>900</billLastPeriod><overallConsumptionLastPeriod><powerOfTenMultiplier>0</powerOfTenMultiplier><uom>72</uom><value>31000</value></overallConsumptionLastPeriod></UsageSummary></content></entry>
</feed>`;
  /** Elements with a text in them, and links; of the readings of a block the first three and the last. */
  const places = [...feed.matchAll(/(?<=<(\w+)>)[^<>\n]+(?=<\/\1>)|(?<= (?:rel|href)=")[^"]+/g)].filter(({ index }) => {
    const reading = feed.slice(0, index).match(/<IntervalReading>/g)?.length ?? 0;
    return reading % 47 <= 3 || reading % 47 === 46 || !feed.slice(index - 60, index).includes('Reading>');
  });
  const zones: ParseOptions[] = [{ zone: 'America/Denver' }];
  test.each(zones)('with another text in one element', (options) => {
    const lines = places.map(({ index, 0: text }) =>
      altered(
        `${feed.slice(0, index).split(/[<\s]/).at(-1)!.slice(0, 30)}${text.slice(0, 20)}`,
        [feed.slice(0, index), feed.slice(index + text.length)],
        text.startsWith('/')
          ? ['', '/UsagePoint/2', '/UsagePoint/1/MeterReading/2', '/ReadingType/2']
          : [...ODD, `${text}0`],
        options,
      ),
    );
    expect(lines.join('\n')).toMatchSnapshot();
  });

  const elements = [
    ...feed.matchAll(/<(\w+)[^<>/]*>[^<>]*<\/\1>|<entry>(?:(?!<\/entry>)[\s\S])*<\/entry>|<link[^>]*\/>/g),
  ];
  test('without an element, or with it twice', () => {
    const lines = elements
      .filter(
        ({ index, 0: text }, k) => text.startsWith('<entry') || text.startsWith('<link') || k % 5 === 0 || index < 3000,
      )
      .map(({ index, 0: text }) =>
        altered(
          text.slice(0, 40),
          [feed.slice(0, index), feed.slice(index + text.length)],
          ['', `${text}${text}`],
          zones[0]!,
        ),
      );
    expect(lines.join('\n')).toMatchSnapshot();
  });
});

describe('NEM12', () => {
  const record300 = (date: string, kwh: (i: number) => number, tail: string) =>
    `300,${date},${rowsOf(48, (i) => kwh(i).toFixed(3)).join(',')},${tail}`;
  const lines = [
    '100,NEM12,202603100000,MDP,RET',
    '200,NMI0000001,E1B1,E1,E1,N1,METER1,kWh,30,20260401',
    record300('20260301', (i) => drawn(i, 2), 'A,,,20260302101010,20260302101011'),
    record300('20260302', (i) => drawn(i + 48, 2), 'V,,,20260303101010,'),
    '400,1,20,A,,',
    '400,21,48,S14,76,Some words',
    '500,O,S1,20260303101010,12.3',
    record300('20260303', (i) => drawn(i + 96, 2), 'F52,71,,20260304101010,'),
    '200,NMI0000001,E1B1,B1,B1,N1,METER1,kWh,30,',
    record300('20260301', (i) => sunny(i >> 1) / 2, 'A,,,20260302101010,'),
    record300('20260302', (i) => sunny(i >> 1) / 3, 'N,,,20260303101010,'),
    record300('20260303', (i) => sunny(i >> 1) / 4, 'E52,,,20260304101010,'),
    '900',
  ];
  const zone = { zone: 'Australia/Brisbane' };
  test.each(lines.map((line, at) => [at, line.slice(0, 20), line] as const))(
    'with another field in line %d, %s',
    (at, _name, line) => {
      const fields = line.split(',');
      const some = fields.map((_, k) => k).filter((k) => k < 12 || k > fields.length - 7);
      const kept = some.map((k) => {
        const other = [...ODD, 'A', 'V', 'E1', 'B2', 'Wh', '15', '20260302', `${fields[k]}1`].map((text) =>
          lines.with(at, fields.with(k, text).join(',')).join('\n'),
        );
        return inOne(
          String(k),
          other.map((text) => told(text, zone)),
        );
      });
      const longer = [fields.slice(0, -1), [...fields, '1'], fields.toSpliced(2, 1), fields.toSpliced(3, 0, '1')].map(
        (cells) => told(lines.with(at, cells.join(',')).join('\n'), zone),
      );
      expect([...kept, inOne('fields', longer)].join('\n')).toMatchSnapshot();
    },
  );

  test('without a line, with it twice, and further up', () => {
    const kept = lines.map((line, at) =>
      inOne(line.slice(0, 14), [
        told(lines.toSpliced(at, 1).join('\n'), zone),
        told(lines.toSpliced(at, 0, line).join('\n'), zone),
        told(
          lines
            .toSpliced(at, 1)
            .toSpliced(Math.max(0, at - 2), 0, line)
            .join('\r\n'),
          zone,
        ),
      ]),
    );
    expect(kept.join('\n')).toMatchSnapshot();
  });
});

describe('an archive', () => {
  const packed = Object.entries(archives).flatMap(([name, bytes]) =>
    bytes instanceof Uint8Array && bytes.length < 1500 ? [[name, bytes] as const] : [],
  );
  test.each(packed)('%s with another byte in one place', (_name, bytes) => {
    const runs: string[] = [];
    const from: number[] = [];
    for (let at = 0; at < bytes.length; at++) {
      // What is packed is looked after by its checksum: of its middle a few bytes are enough.
      if (at > 120 && at < 240 && at % 8 !== 0) continue;
      const line = [0xff, bytes[at]! ^ 1, (bytes[at]! + 8) & 255, 0].map((byte) =>
        told(bytes.with(at, byte), { zone: 'America/Denver' }),
      );
      const run = inOne('', line);
      if (runs.at(-1) !== run) {
        runs.push(run);
        from.push(at);
      }
    }
    expect(runs.map((run, k) => `${from[k]}${run}`).join('\n')).toMatchSnapshot();
  });
  test.each(packed)('%s cut, and with more around it', (_name, bytes) => {
    const cuts = Array.from({ length: 40 }, (_, k) => bytes.slice(0, Math.floor((bytes.length * k) / 40)));
    const ends = Array.from({ length: 90 }, (_, k) => bytes.slice(0, bytes.length - k));
    const more = [1, 22, 60].flatMap((count) => [
      Uint8Array.from([...new Uint8Array(count), ...bytes]),
      Uint8Array.from([...bytes, ...new Uint8Array(count)]),
    ]);
    expect(
      [
        inOne(
          'cut',
          cuts.map((each) => told(each, {})),
        ),
        ...ends.map((each, k) => inOne(`-${k}`, [told(each, {})])),
        ...more.map((each, k) => inOne(`more ${k}`, [told(each, {})])),
      ].join('\n'),
    ).toMatchSnapshot();
  });
});
