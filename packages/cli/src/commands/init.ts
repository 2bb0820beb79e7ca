import { relative, sep } from 'node:path';
import { InputError, type InputIssue, showName } from '@duskbank/core/input';
import { CHANNELS, channelField, faultsOf, type IntervalData, readIntervals } from '@duskbank/core/meter';
import { note, print, printJson } from '../io/output.ts';
import { MAX_DATA_BYTES, noteInput, readInput } from '../io/read.ts';
import { writeNew } from '../io/write.ts';
import { xlsx } from '../io/xlsx.ts';

interface Flags {
  json?: boolean;
  meter?: string;
  zone?: string;
}

/**
 * `duskbank init [FOLDER]`: a commented starter site with its tariff. Overwrites nothing, and presumes nothing: what it can't
 * know is left blank, and `check` names each blank until it is filled in. With `--meter` what the file says is filled in.
 */
export async function run(folder: string, options: Flags = {}): Promise<void> {
  const { meter } = options;
  if (meter !== undefined) noteInput(meter);
  const known = meter === undefined ? NOTHING : await knownOf(folder, meter, options.zone);
  // Both or neither: half a starter would be no start.
  const [site, tariff] = writeNew(folder, { 'site.yaml': siteText(known), 'tariff.yaml': TARIFF }) as [string, string];
  if (options.json)
    printJson({
      format: 'duskbank.init/1',
      site,
      tariff,
      ...(meter === undefined ? {} : { zone: known.zone ?? null }),
    });
  else print(`${showName(site)}\n${showName(tariff)}`);
  for (const line of known.lines) note(line);
  const first = meter === undefined ? "put your meter's file beside them, fill" : 'fill';
  note(`next: ${first} in what is marked, then run "duskbank check ${showName(site)}": it names what is still blank`);
}

/** What a meter file says of a home. */
interface Known {
  /** The file, from where the site lies. */
  readonly path?: string;
  readonly zone?: string;
  /** What the labels tell of a zone that they don't name. */
  readonly zoneHint?: string;
  /** What was read, for the comment and for the person. */
  readonly lines: readonly string[];
}

const NOTHING: Known = { lines: [] };

/**
 * Reads a meter file for what it says of the home.
 * @throws InputError on a file that can't be read without an answer; that nobody states its zone stops nothing here
 */
async function knownOf(folder: string, file: string, stated: string | undefined): Promise<Known> {
  const bytes = readInput(file, MAX_DATA_BYTES);
  const path = relative(folder, file).split(sep).join('/');
  const read = (zone: string | undefined) =>
    readIntervals(bytes, { maxBytes: MAX_DATA_BYTES, ...(zone === undefined ? {} : { zone }) }, xlsx);
  const data = await read(stated);
  if (data.series !== undefined) return { path, zone: data.series.axis.zone, lines: [heldWords(data)] };
  const faults = faultsOf(file, data.findings);
  if (faults.some(({ code }) => code !== 'zone-missing')) throw new InputError(faults.map(answeredFirst));
  // The labels' own clock, beside one that never changes.
  const asUtc = await read('Etc/UTC');
  const other = faultsOf(file, asUtc.findings).filter(({ code }) => code !== 'zone-contradicted');
  if (other.length > 0) throw new InputError(other.map(answeredFirst));
  const changes = asUtc.findings.find(({ code }) => code === 'zone-contradicted')?.data as { like: string } | undefined;
  const zoneHint = changes === undefined ? undefined : `the file’s clock changes when that of ${changes.like} does`;
  const why = zoneHint === undefined ? '' : `; ${zoneHint}`;
  return { path, zoneHint, lines: [`the file doesn’t name its time zone${why}: fill in "zone"`] };
}

/** A fault whose cure is an answer in a site file, which isn't there yet, with the way by which `init` can take it. */
function answeredFirst(fault: InputIssue): InputIssue {
  if (fault.hint?.includes('"duskbank inspect" takes') !== true) return fault;
  return {
    ...fault,
    hint: `${fault.hint}; have it write the file with that answer (--write clean.csv), then run "duskbank init --meter clean.csv"`,
  };
}

/** `read 365 days of 60 minutes: import 7,006 kWh`. */
function heldWords({ series }: IntervalData): string {
  if (series === undefined) return '';
  const { axis } = series;
  const sums = CHANNELS.flatMap((channel) => {
    const values = series[channelField(channel)];
    if (values === undefined) return [];
    const kwh = values.reduce((all, value) => all + (value || 0), 0);
    return [`${channel} ${Math.round(kwh).toLocaleString('en-US')} kWh`];
  });
  const days = Math.round((axis.intervals * axis.stepHours) / 24);
  return `read ${days.toLocaleString('en-US')} days of ${axis.stepMinutes} minutes: ${sums.join(', ')}`;
}

function siteText({ path, zone, zoneHint, lines }: Known): string {
  const zoneLine =
    zone === undefined
      ? `zone:                           # (fill in) IANA time zone of the home, such as America/Denver${zoneHint === undefined ? '' : `; ${zoneHint}`}`
      : `zone: ${JSON.stringify(zone)}`;
  const fileLine =
    path === undefined
      ? '- intervals.csv             # (fill in) a year of interval data; several files are joined'
      : `- ${JSON.stringify(path)}${zone === undefined ? '' : `    # ${lines.join('; ')}`}`;
  return `# A home: its metered data, tariff and battery. What is marked (fill in) is blank: nobody but you knows it.
# Every field is described in docs/reference/site-file.md; "duskbank schema site" prints the JSON Schema.
format: duskbank.site/1
name: My home
${zoneLine}

meter:
  files:
    ${fileLine}
  # A file whose units or columns aren't plain is described:
  # - path: solar.csv
  #   unit: kW
  #   columns: { start: Time, solar: Power }

tariff: tariff.yaml

plant:
  battery:
    units:                      # (fill in) units whose energy and power are pooled
    usableKwh:                  # (fill in) usable energy of one unit, from its data sheet
    chargeKw:                   # (fill in) continuous, at AC
    dischargeKw:                # (fill in) continuous, at AC
    roundTripEfficiency:        # (fill in) AC to AC, of 1: makers print it, 0.85 to 0.92 is usual
    # standbyW: 10              # what a unit draws all the time; 0 where not given
  # inverter: { continuousKw: 3.5 }
  # breaker: { ampere: 20, volt: 240 }        # 80 % of it may flow continuously
  # chargingCord: { ampere: 15, volt: 120 }   # 80 % of it: 1.44 kW
  # floor: { share: 0.2 }       # kept for an outage, released in one; nothing where not given
  # gridCharging: false         # may not be charged from the grid; it may where not given
  # batteryExport: true         # may sell what is stored; it may not where not given
  # reach: { share: 0.4 }       # only the circuits behind the transfer equipment; the whole home where not given

# backup:                       # what must stay on when the grid fails; the whole load where not given
#   load: { share: 0.5 }        # a share of the load, or { watts: 600 }, or "circuits" one by one

# economics:                    # for a simple payback
#   price: 9000
#   covers: one battery unit, transfer panel and installation
`;
}

const TARIFF = `# A tariff: what a kWh costs when, what is fixed, what export earns. What is marked (fill in) is on your bill.
# Every element is described in docs/reference/tariff-file.md; "duskbank schema tariff" prints the JSON Schema.
format: duskbank.tariff/1
name: My rate
currency:                       # (fill in) as on the bill: USD, EUR, GBP, AUD …

# Together the windows hold every minute of every day once; "otherwise" takes the rest. Leave one out where there is but one price.
windows:
  - name: on-peak
    days: weekday               # or: weekend, [mon, tue], all
    from:                       # (fill in) "16:00"
    to:                         # (fill in) "21:00"
    pricePerKwh:                # (fill in) all that is charged by the kWh, in whole currency: 0.31, not 31
  - name: off-peak
    otherwise: true
    pricePerKwh:                # (fill in)

# Where summer and winter differ, each window names its season:
# seasons:
#   - { name: summer, months: [6, 7, 8, 9] }
#   - { name: winter, months: [10, 11, 12, 1, 2, 3, 4, 5] }
# holidays: [us-six]            # public holidays, where the tariff names some

# fixed:
#   - { name: Service charge, amount: 12, per: month }

export: { kind: }               # (fill in) none, or net-billing with "pricePerKwh", net-metering, buy-all

# taxes:
#   - { name: Tax, percent: 3, on: [energy, fixed] }
`;
