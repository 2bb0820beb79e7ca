import { showName } from '@duskbank/core/input';
import { note, print, printJson } from '../io/output.ts';
import { writeNew } from '../io/write.ts';

/** `duskbank init [FOLDER]`: a commented starter site with its tariff. Overwrites nothing. */
export function run(folder: string, options: { json?: boolean } = {}): void {
  // Both or neither: half a starter would be no start.
  const [site, tariff] = writeNew(folder, { 'site.yaml': SITE, 'tariff.yaml': TARIFF }) as [string, string];
  if (options.json) printJson({ format: 'duskbank.init/1', site, tariff });
  else print(`${showName(site)}\n${showName(tariff)}`);
  note(
    `next: put your meter's file beside them, fill in the marked lines, then run "duskbank check ${showName(site)}"`,
  );
}

const SITE = `# A home: its metered data, tariff and battery. Lines marked (fill in) are guesses of ours.
# Every field is described in docs/reference/site-file.md; "duskbank schema site" prints the JSON Schema.
format: duskbank.site/1
name: My home
zone: America/Denver            # (fill in) IANA time zone of the home

meter:
  files:
    - intervals.csv             # (fill in) a year of interval data; several files are joined
  # A file whose units or columns aren't plain is described:
  # - path: solar.csv
  #   unit: kW
  #   columns: { start: Time, solar: Power }

tariff: tariff.yaml

plant:
  battery:
    units: 1                    # (fill in) units whose energy and power are pooled
    usableKwh: 5                # (fill in) usable energy of one unit, from its data sheet
    chargeKw: 2.5               # (fill in) continuous, at AC
    dischargeKw: 3.5            # (fill in) continuous, at AC
    roundTripEfficiency: 0.88   # AC to AC
    standbyW: 10
  # inverter: { continuousKw: 3.5 }
  # breaker: { ampere: 20, volt: 240 }        # 80 % of it may flow continuously
  # chargingCord: { ampere: 15, volt: 120 }   # 80 % of it: 1.44 kW
  floor: { share: 0.2 }         # kept for an outage, released in one
  gridCharging: true
  batteryExport: false
  reach: whole-home             # or { share: 0.4 }: only the circuits behind the transfer equipment

backup:
  load: { share: 0.5 }          # (fill in) what must stay on: a share of the load, or { watts: 600 }

# economics:                    # for a simple payback
#   price: 9000
#   covers: one battery unit, transfer panel and installation
`;

const TARIFF = `# A tariff: what a kWh costs when, what is fixed, what export earns. Numbers are invented: (fill in) from your bill.
# Every element is described in docs/reference/tariff-file.md; "duskbank schema tariff" prints the JSON Schema.
format: duskbank.tariff/1
name: My time-of-use rate
currency: USD

holidays: [us-six]

seasons:
  - { name: summer, months: [6, 7, 8, 9] }
  - { name: winter, months: [10, 11, 12, 1, 2, 3, 4, 5] }

# Together the windows hold every minute of every day once; "otherwise" takes the rest.
windows:
  - { name: on-peak, seasons: summer, days: weekday, from: "16:00", to: "21:00", pricePerKwh: 0.40 }
  - { name: off-peak, seasons: summer, otherwise: true, pricePerKwh: 0.16 }
  - { name: on-peak, seasons: winter, days: weekday, from: "17:00", to: "20:00", pricePerKwh: 0.28 }
  - { name: off-peak, seasons: winter, otherwise: true, pricePerKwh: 0.14 }

fixed:
  - { name: Service charge, amount: 12, per: month }

export: { kind: net-billing, pricePerKwh: 0.06 }

taxes:
  - { name: Tax, percent: 3, on: [energy, fixed] }
`;
