import { callable, check, optional, text } from '../input/door.ts';
import { InputError, type SourceDocument, showName, showValue, type YamlDecoder } from '../input/index.ts';
import { withLines } from '../input/source.ts';
import { type PriceSeries, parseTariff, type Tariff } from '../tariff/index.ts';
import { readPriceSeries, seriesNamed } from '../tariff/inside.ts';
import { quoteName } from '../words/quote.ts';
import { fieldsFilledIn, type Origin } from './origin.ts';
import { beside, folderOf } from './paths.ts';
import { type Decoders, namedBy, type ReadFile, Source } from './source.ts';
import type { TariffSource } from './study-input.ts';

/** A tariff file with the price series that it names, and the tariffs that follow it once it ends. */
export interface LoadedTariff extends TariffSource {
  readonly successors: readonly TariffSource[];
  /** Another one than the site names: the home isn't on it, but might be. */
  readonly offered: boolean;
  /** The files that it was read from, and what its own one leaves out. */
  readonly origin: Origin;
}

/** A tariff file that was read alone. */
export interface TariffFile {
  readonly tariff: Tariff;
  readonly origin: Origin;
}

/**
 * Reads a tariff file alone, without the price series and successors that it names.
 * @throws InputError with every fault: path, value, what was expected and the cure
 */
export async function loadTariffFile(path: string, read: ReadFile, yaml?: YamlDecoder): Promise<TariffFile> {
  check({ path, read, yaml }, { path: text, read: callable, yaml: optional(callable) });
  const source = new Source(read, yaml === undefined ? {} : { yaml });
  const document = await source.document(path, 'tariff');
  const tariff = withLines(document, () => parseTariff(document.value, path));
  return { tariff, origin: originOf(source, document, tariff) };
}

/** A price series that a tariff file names, as it was read. */
export interface NamedPrices {
  /** As the tariff file names it. */
  readonly file: string;
  readonly series: PriceSeries;
}

/**
 * Reads the price series that a tariff file names.
 *
 * @param zone whose clock their labels show where they print no offset
 * @throws InputError where one can't be had or read
 */
export async function loadPrices(
  path: string,
  read: ReadFile,
  zone: string,
  decoders: Decoders,
): Promise<NamedPrices[]> {
  const source = new Source(read, decoders);
  const document = await source.document(path, 'tariff');
  const tariff = withLines(document, () => parseTariff(document.value, path));
  return pricesOf(source, document, tariff, path, zone);
}

/**
 * Reads a tariff file with the price series that it names, their clock times in `zone`, and the files of those that
 * follow it.
 *
 * @param options.named the path as it was written where the file is named
 * @param options.followed files that led here: one that comes up again ends the chain
 */
export async function loadTariff(
  source: Source,
  path: string,
  zone: string,
  { named = path, followed = [] }: { readonly named?: string; readonly followed?: readonly string[] } = {},
): Promise<Omit<LoadedTariff, 'offered'>> {
  const document = await source.document(path, followed.length === 0 ? 'tariff' : 'successor', named);
  const tariff = withLines(document, () => parseTariff(document.value, path));
  const prices = await pricesOf(source, document, tariff, path, zone);
  const series = Object.fromEntries(prices.map((named) => [named.file, named.series]));
  const { successor, successorFile } = tariff.life;
  const next = successorFile === undefined ? undefined : beside(folderOf(path), successorFile);
  if (next === undefined || followed.includes(next) || next === path)
    return { tariff, options: { series }, successors: [], origin: originOf(source, document, tariff) };
  const heir = await namedBy(document, ['life', 'successorFile'], () =>
    loadTariff(source, next, zone, { named: successorFile!, followed: [...followed, path] }),
  );
  if (heir.tariff.name !== successor)
    throw new InputError([
      {
        code: 'not-allowed',
        where: { file: path, path: ['life', 'successor'], line: document.lineOf(['life', 'successor']) },
        received: showValue(successor),
        expected: `${quoteName(heir.tariff.name)}, the name in ${showName(next)}`,
        hint: 'name the successor as its own file does',
      },
    ]);
  return {
    tariff,
    options: { series },
    successors: [heir, ...heir.successors],
    origin: originOf(source, document, tariff),
  };
}

/** Reads the price series that a tariff names, in the order of its document. */
async function pricesOf(
  source: Source,
  document: SourceDocument,
  tariff: Tariff,
  path: string,
  zone: string,
): Promise<NamedPrices[]> {
  const prices: NamedPrices[] = [];
  for (const named of seriesNamed(tariff)) {
    const file = beside(folderOf(path), named.file);
    const bytes = await namedBy(document, named.path, () => source.data(file, 'prices', named.file));
    prices.push({ file: named.file, series: await readPriceSeries(bytes, zone, file, source.xlsx) });
  }
  return prices;
}

/** The files that a tariff was read from with its successors, and what its own one leaves out. */
function originOf(source: Source, document: SourceDocument, tariff: Tariff): Origin {
  return { inputs: source.inputs, assumptions: fieldsFilledIn('tariff', document.value, tariff.document) };
}
