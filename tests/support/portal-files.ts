// Meter files as customer portals write them, made from a seed with the truth beside them. Everything in them is invented.
import { epochAtLocal, offsetSpans } from '@duskbank/core/axis';
import { type IntervalData, parseIntervalData } from '@duskbank/core/meter';
import { seeded } from './homes-plain.ts';

const DAY_MS = 86_400_000;

/** What a generated file holds and how it is to be read. */
export interface PortalFile {
  readonly seed: number;
  readonly text: string;
  readonly zone: string;
  /** How it is written, for a message. */
  readonly manner: string;
  /** kWh of each channel, as printed. */
  readonly truthKwh: Readonly<Record<string, number>>;
  readonly intervals: number;
  /** Start of the first interval, ms since the epoch. */
  readonly startMs: number;
  /** No reading of it can be right without an answer: it has to be asked about. */
  readonly mustAsk: boolean;
  /** What a value counts, where the file doesn't say it. */
  readonly counts?: { readonly unit: 'kWh' | 'Wh' | 'kW' | 'W'; readonly times: number };
}

/** What an odd file has that a plain one hasn't. */
interface Oddity {
  /** Words for import and export beside those of {@link LANGUAGES}. */
  readonly words?: { readonly import: readonly string[]; readonly export: readonly string[] };
  /** A column of energy beside the channels. */
  readonly beside?: 'sum of the day' | 'last year' | 'the same again' | 'second meter';
  /** Values are a thousand times as large from some day on. */
  readonly changesUnit?: true;
}

/** How import and export are called beside each other, in languages and words that {@link LANGUAGES} doesn't hold. */
const PAIRS: Readonly<Record<string, readonly (readonly [bought: string, sold: string])[]>> = {
  en: [
    ['Energy used', 'Fed back'],
    ['Bought', 'Sold'],
  ],
  de: [
    ['Bezug', 'Lieferung'],
    ['Bezug', 'Abgabe'],
    ['Entnahme', 'Rückspeisung'],
    ['Aus dem Netz', 'Ins Netz'],
  ],
  fr: [
    ['Soutirage', 'Réinjection'],
    ['Énergie achetée', 'Énergie vendue'],
  ],
  es: [
    ['Energía comprada', 'Energía cedida'],
    ['AE_kWh', 'AS_kWh'],
  ],
  it: [
    ['Energia prelevata', 'Energia ceduta'],
    ['Prelievo', 'Energia venduta'],
  ],
  nl: [
    ['Afname van net', 'Teruglevering aan net'],
    ['Verbruik', 'Levering aan net'],
    ['Afname van het net', 'Levering aan het net'],
    // Danish, Norwegian and Swedish, under Dutch dates.
    ['Forbrug', 'Levering til net'],
    ['Forbrug', 'Levering til nettet'],
    ['Køb fra nettet', 'Salg til nettet'],
    ['Forbruk', 'Levert til nett'],
    ['Forbruk fra nettet', 'Innmating'],
    ['Förbrukning', 'Produktion till nät'],
    ['Uttag från nätet', 'Inmatning till elnätet'],
  ],
};

const BESIDE: Readonly<Record<string, Readonly<Record<NonNullable<Oddity['beside']>, string>>>> = {
  en: {
    'sum of the day': 'Day total',
    'last year': 'Last year',
    'the same again': 'Energy',
    'second meter': 'Heat pump',
  },
  de: {
    'sum of the day': 'Summe Tag',
    'last year': 'Verbrauch Vorjahr',
    'the same again': 'Wirkarbeit',
    'second meter': 'Wärmepumpe',
  },
  fr: {
    'sum of the day': 'Total jour',
    'last year': 'Année précédente',
    'the same again': 'Énergie',
    'second meter': 'Pompe à chaleur',
  },
  es: {
    'sum of the day': 'Total día',
    'last year': 'Año anterior',
    'the same again': 'Energía',
    'second meter': 'Bomba de calor',
  },
  it: {
    'sum of the day': 'Totale giorno',
    'last year': 'Anno precedente',
    'the same again': 'Energia',
    'second meter': 'Pompa di calore',
  },
  nl: {
    'sum of the day': 'Totaal dag',
    'last year': 'Vorig jaar',
    'the same again': 'Energie',
    'second meter': 'Warmtepomp',
  },
};

interface Language {
  readonly zones: readonly string[];
  readonly date: readonly string[];
  readonly time: readonly string[];
  readonly stamp: readonly string[];
  readonly start: readonly string[];
  readonly end: readonly string[];
  readonly hour: readonly string[];
  readonly quarter: readonly string[];
  readonly import: readonly string[];
  readonly export: readonly string[];
  readonly solar: readonly string[];
  readonly direction: string;
  readonly unit: string;
  readonly meter: readonly string[];
  readonly quality: readonly [name: string, measured: string];
  readonly value: string;
  readonly to: string;
  readonly total: string;
  readonly dates: readonly string[];
  readonly months: readonly string[];
  readonly comma: boolean;
}

export const LANGUAGES: Readonly<Record<string, Language>> = {
  en: {
    zones: ['America/Chicago', 'Europe/London', 'Australia/Sydney'],
    date: ['Date', 'Reading Date', 'Usage date'],
    time: ['Time', 'Start time'],
    stamp: ['Timestamp', 'Date/Time', 'Interval start', 'Date and time'],
    start: ['Start', 'From', 'Interval start'],
    end: ['End', 'To', 'Interval end'],
    hour: ['Hour', 'Hour number'],
    quarter: ['Interval', 'Interval number'],
    import: ['Import', 'Consumption', 'Usage', 'Delivered', 'Energy from grid'],
    export: ['Export', 'Energy to grid', 'Feed-in', 'Received'],
    solar: ['Generation', 'Solar production', 'PV production'],
    direction: 'Direction',
    unit: 'Unit',
    meter: ['Meter number', 'Meter'],
    quality: ['Status', 'Actual'],
    value: 'Value',
    to: 'to',
    total: 'Total',
    dates: ['iso', 'm/d/y', 'd/m/y', 'named', 'y/m/d'],
    months: ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'],
    comma: false,
  },
  de: {
    zones: ['Europe/Berlin', 'Europe/Vienna', 'Europe/Zurich'],
    date: ['Datum', 'Ablesedatum'],
    time: ['Uhrzeit', 'Zeit', 'Uhrzeit von'],
    stamp: ['Zeitstempel', 'Datum und Uhrzeit', 'Zeitpunkt', 'Datum/Uhrzeit'],
    start: ['Von', 'Beginn', 'Ab', 'Datum von'],
    end: ['Bis', 'Ende', 'Datum bis'],
    hour: ['Stunde'],
    quarter: ['Viertelstunde', 'Intervall'],
    import: ['Bezug', 'Verbrauch', 'Netzbezug', 'Stromverbrauch', 'Wirkarbeit Bezug'],
    export: ['Einspeisung', 'Netzeinspeisung', 'Rücklieferung', 'Überschusseinspeisung'],
    solar: ['Erzeugung', 'PV-Erzeugung', 'Produktion', 'Solarertrag'],
    direction: 'Richtung',
    unit: 'Einheit',
    meter: ['Zählernummer', 'Zählpunkt'],
    quality: ['Status', 'gemessen'],
    value: 'Wert',
    to: 'bis',
    total: 'Summe',
    dates: ['d.m.y', 'iso', 'd.m.yy'],
    months: [
      'Januar',
      'Februar',
      'März',
      'April',
      'Mai',
      'Juni',
      'Juli',
      'August',
      'September',
      'Oktober',
      'November',
      'Dezember',
    ],
    comma: true,
  },
  fr: {
    zones: ['Europe/Paris', 'Europe/Brussels'],
    date: ['Date', 'Date de relève', 'Jour'],
    time: ['Heure', 'Heure de début'],
    stamp: ['Horodate', 'Date et heure', 'Horodatage'],
    start: ['Début', 'Date de début', 'De'],
    end: ['Fin', 'Date de fin', 'Au'],
    hour: ['Heure'],
    quarter: ["Quart d'heure", 'Intervalle'],
    import: ['Consommation', 'Soutirage', 'Énergie soutirée', 'Énergie consommée'],
    export: ['Injection', 'Énergie injectée', 'Surplus injecté', 'Excédent'],
    solar: ['Production', 'Production solaire', 'Production photovoltaïque'],
    direction: 'Sens',
    unit: 'Unité',
    meter: ['Numéro de compteur', 'Point de livraison'],
    quality: ['Statut', 'mesurée'],
    value: 'Valeur',
    to: 'à',
    total: 'Total',
    dates: ['d/m/y', 'iso', 'named', 'd-m-y'],
    months: [
      'janvier',
      'février',
      'mars',
      'avril',
      'mai',
      'juin',
      'juillet',
      'août',
      'septembre',
      'octobre',
      'novembre',
      'décembre',
    ],
    comma: true,
  },
  es: {
    zones: ['Europe/Madrid', 'America/Santiago'],
    date: ['Fecha', 'Fecha lectura'],
    time: ['Hora', 'Hora inicio'],
    stamp: ['Fecha y hora', 'Fecha/Hora'],
    start: ['Inicio', 'Desde', 'Fecha inicio'],
    end: ['Fin', 'Hasta', 'Fecha fin'],
    hour: ['Hora'],
    quarter: ['Cuarto de hora', 'Intervalo'],
    import: ['Consumo', 'Energía consumida', 'Energía importada'],
    export: ['Energía vertida', 'Excedente', 'Energía exportada', 'Vertido'],
    solar: ['Generación', 'Producción', 'Energía generada'],
    direction: 'Dirección',
    unit: 'Unidad',
    meter: ['Número de contador', 'Contador'],
    quality: ['Estado', 'medido'],
    value: 'Valor',
    to: 'a',
    total: 'Total',
    dates: ['d/m/y', 'iso', 'd-m-y'],
    months: [
      'enero',
      'febrero',
      'marzo',
      'abril',
      'mayo',
      'junio',
      'julio',
      'agosto',
      'septiembre',
      'octubre',
      'noviembre',
      'diciembre',
    ],
    comma: true,
  },
  it: {
    zones: ['Europe/Rome'],
    date: ['Data', 'Giorno', 'Data lettura'],
    time: ['Ora', 'Ora inizio'],
    stamp: ['Data e ora', 'Data/Ora'],
    start: ['Inizio', 'Data inizio', 'Dalle'],
    end: ['Fine', 'Data fine', 'Alle'],
    hour: ['Ora'],
    quarter: ["Quarto d'ora", 'Intervallo'],
    import: ['Prelievo', 'Energia prelevata', 'Consumo'],
    export: ['Immissione', 'Energia immessa', 'Immissione in rete'],
    solar: ['Produzione', 'Energia prodotta', 'Produzione fotovoltaica'],
    direction: 'Direzione',
    unit: 'Unità',
    meter: ['Numero contatore', 'Contatore'],
    quality: ['Stato', 'misurato'],
    value: 'Valore',
    to: 'a',
    total: 'Totale',
    dates: ['d/m/y', 'd-m-y', 'iso', 'named'],
    months: [
      'gennaio',
      'febbraio',
      'marzo',
      'aprile',
      'maggio',
      'giugno',
      'luglio',
      'agosto',
      'settembre',
      'ottobre',
      'novembre',
      'dicembre',
    ],
    comma: true,
  },
  nl: {
    zones: ['Europe/Amsterdam'],
    date: ['Datum'],
    time: ['Tijd', 'Begintijd'],
    stamp: ['Tijdstip', 'Datum en tijd', 'Datum/tijd'],
    start: ['Van', 'Begin', 'Datum van'],
    end: ['Tot', 'Einde', 'Datum tot'],
    hour: ['Uur'],
    quarter: ['Kwartier', 'Interval'],
    import: ['Verbruik', 'Levering', 'Afname', 'Stroomverbruik'],
    export: ['Teruglevering', 'Teruggeleverd', 'Invoeding'],
    solar: ['Opwekking', 'Opbrengst', 'Productie', 'Zonneproductie'],
    direction: 'Richting',
    unit: 'Eenheid',
    meter: ['Meternummer', 'Meter'],
    quality: ['Status', 'gemeten'],
    value: 'Waarde',
    to: 'tot',
    total: 'Totaal',
    dates: ['d-m-y', 'iso', 'named'],
    months: [
      'januari',
      'februari',
      'maart',
      'april',
      'mei',
      'juni',
      'juli',
      'augustus',
      'september',
      'oktober',
      'november',
      'december',
    ],
    comma: true,
  },
};

/** A meter file from a seed: another language, layout, unit and date each time; of so many days where they are given. */
export function portalFile(seed: number, wholeDays?: number): PortalFile {
  return makeFile(seed, wholeDays, undefined);
}

/**
 * A meter file from a seed with something odd in it: other words for the grid, a further column of energy beside the
 * channels, a unit that changes on the way.
 */
export function oddFile(seed: number): PortalFile {
  const random = seeded(seed * 104_729 + 5);
  const oddities: readonly Oddity['beside'][] = ['sum of the day', 'last year', 'the same again', 'second meter'];
  const what = Math.floor(random() * 6);
  if (what === 0) return makeFile(seed, 12, { changesUnit: true });
  return makeFile(seed, undefined, what <= 2 ? 'words' : { beside: oddities[Math.floor(random() * 4)]! });
}

/**
 * A meter file from a seed that says nowhere in which unit its values are: in plain units, and in tenths and hundredths of a
 * kWh, of homes that buy 1 to 400 kWh a day.
 */
export function unlabelledFile(seed: number): PortalFile {
  return makeFile(seed, 6, 'unlabelled');
}

/**
 * A meter file from a seed with a block a day: a line with the date, then rows with the time of day, or with the number of
 * the hour or quarter.
 */
export function blockFile(seed: number): PortalFile {
  return makeFile(seed, undefined, 'blocks');
}

/** What values count that no file says. */
const COUNTS = [
  { unit: 'kWh', times: 1 },
  { unit: 'kW', times: 1 },
  { unit: 'Wh', times: 1 },
  { unit: 'W', times: 1 },
  { unit: 'Wh', times: 100 },
  { unit: 'Wh', times: 10 },
] as const;

function makeFile(
  seed: number,
  wholeDays: number | undefined,
  odd: Oddity | 'words' | 'unlabelled' | 'blocks' | undefined,
): PortalFile {
  const random = seeded(seed * 7919 + 13);
  const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)]!;
  const chance = (share: number) => random() < share;
  const code = pick(Object.keys(LANGUAGES));
  const oddity = typeof odd === 'string' ? {} : (odd ?? {});
  const pairs = PAIRS[code]!;
  const [bought, sold] = pairs[seed % pairs.length]!;
  const words = odd === 'words' ? { ...LANGUAGES[code]!, import: [bought], export: [sold] } : LANGUAGES[code]!;
  const zone = pick(words.zones);
  const stepMinutes = pick([15, 15, 30, 60]);
  const stepMs = stepMinutes * 60_000;
  const length = 6 + Math.floor(random() * 22);
  const days = wholeDays ?? length;
  // From any day of two years: clock changes are met as they come.
  const firstDay = Math.floor(Date.UTC(2024, 0, 1) / DAY_MS) + Math.floor(random() * 700);
  const startMs = epochAtLocal(zone, firstDay * DAY_MS);
  const endMs = epochAtLocal(zone, (firstDay + days) * DAY_MS);
  const n = Math.round((endMs - startMs) / stepMs);
  const spans = offsetSpans(zone, startMs, endMs + stepMs);
  const local = (at: number) => at + spans.findLast(({ fromEpochMs }) => fromEpochMs <= at)!.offsetMinutes * 60_000;

  // A home: base load, evenings, sun.
  const hasSun = chance(0.6) || odd === 'words';
  const base = 0.08 + 0.3 * random();
  const evening = 0.4 + 2 * random();
  const array = 2 + 5 * random();
  const flows: Record<string, number[]> = { import: [], export: [], solar: [] };
  let cloud = 0.6;
  for (let i = 0; i < n; i++) {
    const hour = (local(startMs + i * stepMs) % DAY_MS) / 3_600_000;
    if (i % Math.round((6 * 60) / stepMinutes) === 0) cloud = 0.2 + 0.8 * random();
    const sunKw = hasSun ? array * cloud * Math.max(0, Math.sin(((hour - 6.2) / 12.4) * Math.PI)) : 0;
    const loadKw =
      base * (0.7 + 0.6 * random()) +
      (hour >= 17 && hour < 22 ? evening * random() : 0) +
      (random() < 0.04 ? 2.2 * random() : 0);
    flows.solar!.push((sunKw * stepMinutes) / 60);
    flows.import!.push((Math.max(0, loadKw - sunKw) * stepMinutes) / 60);
    flows.export!.push((Math.max(0, sunKw - loadKw) * stepMinutes) / 60);
  }
  const channels =
    odd === 'words'
      ? ['import', 'export']
      : !hasSun
        ? ['import']
        : pick([['import'], ['import', 'export'], ['import', 'export'], ['import', 'export', 'solar']]);

  const counts = odd === 'unlabelled' ? COUNTS[seed % COUNTS.length]! : undefined;
  if (counts !== undefined) {
    const wanted = 400 ** random() * days;
    const bought = flows.import!.reduce((sum, kwh) => sum + kwh, 0);
    // At most what a service carries of the sun; a vast home heats with the rest, around the clock.
    const times = Math.min(8, wanted / bought);
    for (const list of Object.values(flows)) for (let i = 0; i < n; i++) list[i]! *= times;
    const heatKwh = (wanted - times * bought) / n;
    for (let i = 0; i < n; i++) flows.import![i]! += heatKwh * (0.6 + ((i * 37) % 100) / 125);
  }
  const unit = counts?.unit ?? pick(['kWh', 'kWh', 'kWh', 'Wh', 'kW', 'W'] as const);
  const perKwh = { kWh: 1, Wh: 1000, kW: 60 / stepMinutes, W: 60_000 / stepMinutes }[unit] / (counts?.times ?? 1);
  const places = unit === 'Wh' || unit === 'W' ? 0 : 3;
  const comma = words.comma && chance(0.8);
  const delimiter = comma ? pick([';', ';', '\t']) : pick([',', ',', ';', '\t']);
  const truthKwh: Record<string, number> = {};
  const print = (channel: string, i: number, grouped = false) => {
    const times = oddity.changesUnit === true && i >= n / 2 ? 1000 : 1;
    const value = Number((flows[channel]![i]! * perKwh * times).toFixed(places));
    truthKwh[channel] = (truthKwh[channel] ?? 0) + value / perKwh;
    let text = value.toFixed(places);
    if (grouped && value >= 1000) text = text.replace(/^(\d+)(\d{3})/, comma ? '$1.$2' : '$1 $2');
    return comma ? text.replace(/\.(?=\d*$)/, ',') : text;
  };

  const dateForm = pick(words.dates);
  const pad = (number: number) => String(number).padStart(2, '0');
  const dateOf = (localMs: number) => {
    const at = new Date(localMs);
    const [y, m, d] = [at.getUTCFullYear(), at.getUTCMonth() + 1, at.getUTCDate()];
    switch (dateForm) {
      case 'm/d/y':
        return `${m}/${d}/${y}`;
      case 'd/m/y':
        return `${pad(d)}/${pad(m)}/${y}`;
      case 'd.m.y':
        return `${pad(d)}.${pad(m)}.${y}`;
      case 'd.m.yy':
        return `${pad(d)}.${pad(m)}.${String(y).slice(2)}`;
      case 'd-m-y':
        return `${pad(d)}-${pad(m)}-${y}`;
      case 'y/m/d':
        return `${y}/${pad(m)}/${pad(d)}`;
      case 'named':
        return `${d} ${words.months[m - 1]} ${y}`;
      default:
        return `${y}-${pad(m)}-${pad(d)}`;
    }
  };
  const half = code === 'en' && chance(0.3);
  const seconds = chance(0.3);
  const timeOf = (localMs: number) => {
    const at = new Date(localMs);
    const [h, m] = [at.getUTCHours(), at.getUTCMinutes()];
    if (half) return `${h % 12 === 0 ? 12 : h % 12}:${pad(m)} ${h < 12 ? 'AM' : 'PM'}`;
    return `${pad(h)}:${pad(m)}${seconds ? ':00' : ''}`;
  };

  const drawn = pick([
    'stamp',
    'stamp',
    'date+time',
    'date+time',
    'start+end',
    'range',
    'time range',
    'number',
    'wide',
    'serial',
    'direction',
  ]);
  // What is odd is a column: layouts without one for each channel don't have it.
  const layout: typeof drawn =
    odd === 'blocks'
      ? (['date+time', 'time range', 'number'] as const)[seed % 3]!
      : odd !== undefined && odd !== 'unlabelled' && (drawn === 'wide' || drawn === 'direction')
        ? 'stamp'
        : drawn;
  const named = (name: string, inUnit: string | undefined) =>
    inUnit === undefined
      ? name
      : pick([`${name} (${inUnit})`, `${name} [${inUnit}]`, `${name} in ${inUnit}`, `${name} ${inUnit}`]);
  const where =
    odd === 'unlabelled'
      ? 'nowhere'
      : layout === 'wide'
        ? 'column'
        : layout === 'direction'
          ? pick(['column', 'header'])
          : oddity.beside === undefined
            ? pick(['header', 'header', 'header', 'header', 'cell', 'column'])
            : 'header';
  const unitCells = where === 'cell' ? ` ${unit}` : '';
  const headUnit = where === 'header' ? unit : undefined;
  const meterNumber = String(1_000_000_000 + Math.floor(random() * 900_000_000));
  const withMeter = chance(0.25);
  const withQuality = chance(0.25);
  const before = withMeter ? [meterNumber] : [];
  const beforeNames = withMeter ? [pick(words.meter)] : [];
  const after = [...(where === 'column' ? [unit] : []), ...(withQuality ? [words.quality[1]] : [])];
  const afterNames = [...(where === 'column' ? [words.unit] : []), ...(withQuality ? [words.quality[0]] : [])];
  const columns = (name: string) => {
    const word = pick(words[name as 'import' | 'export' | 'solar']);
    return word.endsWith('_kWh') ? word.replace('kWh', headUnit ?? '').replace(/_$/, '') : named(word, headUnit);
  };
  const rows: string[][] = [];
  let header: string[] = [];
  let dayKwh = 0;
  const beside = (i: number) => {
    const bought = Number((flows.import![i]! * perKwh).toFixed(places));
    if (local(starts[i]!) % DAY_MS === 0) dayKwh = 0;
    dayKwh += bought;
    const value = {
      'sum of the day': dayKwh,
      'last year': bought * (0.5 + ((i * 37) % 100) / 100),
      'the same again': bought,
      'second meter': (i * stepMinutes) % 240 < 120 ? 1.4 * perKwh * (stepMinutes / 60) : 0,
    }[oddity.beside!].toFixed(places);
    return comma ? value.replace('.', ',') : value;
  };
  const values = (i: number) => [
    ...channels.map((channel) => `${print(channel, i, where !== 'cell' && chance(0.5))}${unitCells}`),
    ...(oddity.beside === undefined ? [] : [beside(i)]),
  ];
  const starts = Array.from({ length: n }, (_, i) => startMs + i * stepMs);

  if (layout === 'wide') {
    const perDay = 1440 / stepMinutes;
    const clock = chance(0.5);
    header = [
      ...beforeNames,
      pick(words.date),
      ...Array.from({ length: perDay }, (_, k) =>
        clock ? `${pad(Math.floor((k * stepMinutes) / 60))}:${pad((k * stepMinutes) % 60)}` : `${k + 1}`,
      ),
      ...afterNames,
    ];
    // Days of a clock change are left to the fixtures: a plain row has the plain number of columns.
    const plainDays = Array.from({ length: days }, (_, d) => epochAtLocal(zone, (firstDay + d) * DAY_MS)).filter(
      (midnight, d) => epochAtLocal(zone, (firstDay + d + 1) * DAY_MS) - midnight === DAY_MS,
    );
    for (const midnight of plainDays) {
      const first = Math.round((midnight - startMs) / stepMs);
      rows.push([
        ...before,
        dateOf(local(midnight)),
        ...Array.from({ length: perDay }, (_, k) => print('import', first + k)),
        ...after,
      ]);
    }
  } else if (layout === 'direction') {
    const names = channels.map((channel) => pick(words[channel as 'import']));
    const apart = chance(0.5);
    header = [
      ...beforeNames,
      ...(apart ? [pick(words.date), pick(words.time)] : [pick(words.stamp)]),
      words.direction,
      named(words.value, headUnit),
      ...afterNames,
    ];
    for (const [c, channel] of channels.entries())
      for (let i = 0; i < n; i++) {
        const at = local(starts[i]!);
        rows.push([
          ...before,
          ...(apart ? [dateOf(at), timeOf(at)] : [`${dateOf(at)} ${timeOf(at)}`]),
          names[c]!,
          print(channel, i),
          ...after,
        ]);
      }
  } else {
    const besideNames = oddity.beside === undefined ? [] : [named(BESIDE[code]![oddity.beside], headUnit)];
    const valueNames = [...channels.map(columns), ...besideNames];
    const numberOf = new Map<number, number>();
    const timeNames = {
      stamp: [pick(words.stamp)],
      'date+time': [pick(words.date), pick(words.time)],
      'start+end': [pick(words.start), pick(words.end)],
      range: [pick(words.stamp)],
      'time range': [pick(words.date), pick(words.time)],
      number: [pick(words.date), stepMinutes === 60 ? pick(words.hour) : pick(words.quarter)],
      serial: [pick(words.stamp)],
    }[layout]!;
    header = [...beforeNames, ...timeNames, ...valueNames, ...afterNames];
    const between = pick([' - ', ` ${words.to} `, ' – ']);
    for (let i = 0; i < n; i++) {
      const at = local(starts[i]!);
      const end = local(starts[i]! + stepMs);
      const day = Math.floor(at / DAY_MS);
      numberOf.set(day, (numberOf.get(day) ?? 0) + 1);
      const serial = (at / DAY_MS + 25_569).toFixed(6);
      const times = {
        stamp: [`${dateOf(at)} ${timeOf(at)}`],
        'date+time': [dateOf(at), timeOf(at)],
        'start+end': [`${dateOf(at)} ${timeOf(at)}`, `${dateOf(end)} ${timeOf(end)}`],
        range: [`${dateOf(at)} ${timeOf(at)}${between}${dateOf(end)} ${timeOf(end)}`],
        'time range': [dateOf(at), `${timeOf(at)}${between}${timeOf(end)}`],
        number: [dateOf(at), String(numberOf.get(day))],
        serial: [comma ? serial.replace('.', ',') : serial],
      }[layout]!;
      rows.push([...before, ...times, ...values(i), ...after]);
    }
  }
  const newestFirst = layout !== 'direction' && layout !== 'number' && chance(0.15);
  if (newestFirst) rows.reverse();
  if (chance(0.15)) rows.push([words.total, ...header.slice(1).map(() => '')]);
  const preamble = chance(0.3)
    ? Array.from({ length: 1 + Math.floor(random() * 4) }, (_, k) => ['Harrow Lane', 'Quillmere', '2024', 'portal'][k]!)
    : [];
  const end = chance(0.3) ? '\r\n' : '\n';
  const quote = (cell: string) => (cell.includes(delimiter) ? `"${cell}"` : cell);
  const body =
    odd === 'blocks'
      ? asBlocks(seed, header, rows, {
          dateAt: before.length,
          dateName: words.date[0]!,
          total: words.total,
          values: /h$/.test(unit) && where !== 'cell' ? channels.map((_, c) => before.length + 2 + c) : [],
          places,
          comma,
        })
      : [header, ...rows];
  const lines = [...preamble, ...body.map((row) => row.map(quote).join(delimiter))];
  const held = layout === 'wide' ? { import: truthKwh.import! } : truthKwh;
  return {
    seed,
    text: `${chance(0.3) ? '\uFEFF' : ''}${lines.join(end)}${end}`,
    zone,
    manner: `${code}, ${layout}, ${dateForm}, ${stepMinutes} min, ${counts === undefined ? '' : `${counts.times} `}${unit} in ${where}, ${channels.join('+')}${odd === 'blocks' ? ', a block a day' : odd === undefined || odd === 'unlabelled' ? '' : `, ${odd === 'words' ? `"${bought}" beside "${sold}"` : (oddity.beside ?? 'unit changes')}`}${withMeter ? ', meter number' : ''}${newestFirst ? ', newest first' : ''}`,
    truthKwh: held,
    startMs,
    intervals: layout === 'wide' ? (rows.length * 1440) / stepMinutes : n,
    ...(counts === undefined ? {} : { counts }),
    mustAsk: oddity.changesUnit === true || (oddity.beside === 'second meter' && /h$/.test(unit)),
  };
}

/** Rows cut into blocks, one a day, each below a line with its date; some with a total of the day beside the date or below. */
function asBlocks(
  seed: number,
  header: readonly string[],
  rows: readonly (readonly string[])[],
  about: {
    readonly dateAt: number;
    readonly dateName: string;
    readonly total: string;
    /** Columns that a total may stand in, of the rows with their date. */
    readonly values: readonly number[];
    readonly places: number;
    readonly comma: boolean;
  },
): string[][] {
  const random = seeded(seed * 31_337 + 3);
  const { dateAt, values, places, comma } = about;
  const form = Math.floor(random() * 4);
  const totals = values.length === 0 ? 0 : Math.floor(random() * 3);
  const headEach = random() < 0.4;
  const apart = random() < 0.4;
  const without = (row: readonly string[]) => row.filter((_, c) => c !== dateAt);
  const days = new Map<string, (readonly string[])[]>();
  for (const row of rows) {
    const own = days.get(row[dateAt]!);
    if (own === undefined) days.set(row[dateAt]!, [row]);
    else own.push(row);
  }
  const isDated = (date: string) => /\d/.test(date);
  const numberIn = (cell: string) => {
    const digits = comma ? cell.replace('.', '').replace(',', '.') : cell.replace(' ', '');
    return Number(digits);
  };
  const sumsOf = (day: readonly (readonly string[])[], name: string, at: number) => {
    const cells = header.map(() => '');
    cells[at] = name;
    for (const c of values) {
      const sum = day.reduce((all, row) => all + numberIn(row[c]!), 0).toFixed(places);
      cells[c] = comma ? sum.replace('.', ',') : sum;
    }
    return cells;
  };
  const lines: string[][] = headEach ? [] : [without(header)];
  for (const [date, day] of days) {
    if (!isDated(date)) continue;
    if (apart) lines.push(['']);
    // The date takes the place that the column of times has later.
    if (totals === 1) lines.push(without(sumsOf(day, date, dateAt + 1)));
    else if (form === 0) lines.push([date]);
    else if (form === 1)
      lines.push([
        date,
        ...without(header)
          .slice(1)
          .map(() => ''),
      ]);
    else if (form === 2) lines.push([`${about.dateName}: ${date}`]);
    else lines.push([about.dateName, date]);
    if (headEach) lines.push(without(header));
    lines.push(...day.map(without));
    if (totals === 2) lines.push(without(sumsOf(day, about.total, dateAt + 1)));
  }
  return lines;
}

/** What came of reading a file: right, asked about, or wrong, with why. */
export interface PortalOutcome {
  readonly verdict: 'right' | 'asked' | 'wrong';
  readonly why: string;
}

/**
 * Reads a generated file with its zone and nothing else. Right is the total of every channel to a thousandth of what was
 * printed; a channel that the file doesn't have may only hold nothing.
 */
export function readPortalFile(file: PortalFile): PortalOutcome {
  const data = parseIntervalData(file.text, { zone: file.zone });
  if (!file.mustAsk || data.series === undefined) return judge(data, file.truthKwh);
  return { verdict: 'wrong', why: 'read, where nothing but a question is right' };
}

/** {@link readPortalFile}, of which the dates stand apart from the rows: the series must begin and end where the home's does. */
export function readBlockFile(file: PortalFile): PortalOutcome {
  const { axis } = parseIntervalData(file.text, { zone: file.zone }).series ?? {};
  if (axis !== undefined && (axis.startEpochMs !== file.startMs || axis.intervals !== file.intervals))
    return { verdict: 'wrong', why: `${axis.intervals} intervals from ${new Date(axis.startEpochMs).toISOString()}` };
  return readPortalFile(file);
}

/** Compares what was read with the truth. */
export function judge(data: IntervalData, truthKwh: Readonly<Record<string, number>>): PortalOutcome {
  const { series, findings } = data;
  if (series === undefined) {
    const why = findings.find(({ severity }) => severity === 'error');
    return { verdict: 'asked', why: `${why?.code}: ${why?.message}` };
  }
  for (const channel of ['import', 'export', 'load', 'solar'] as const) {
    const values = series[`${channel}Kwh`];
    let sum = 0;
    for (const kwh of values ?? []) if (!Number.isNaN(kwh)) sum += kwh;
    const truth = truthKwh[channel] ?? (channel === 'load' && series.importKwh === undefined ? truthKwh.import! : 0);
    const expected = channel === 'import' && values === undefined && series.loadKwh !== undefined ? 0 : truth;
    if (Math.abs(sum - expected) > 1e-3 * Math.max(1, expected))
      return {
        verdict: 'wrong',
        why: `${channel} ${sum.toFixed(3)} kWh, not ${expected.toFixed(3)}: ${findings.map(({ code }) => code).join(', ')}`,
      };
  }
  return { verdict: 'right', why: '' };
}
