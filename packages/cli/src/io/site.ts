import {
  type LoadedSite,
  type LoadOptions,
  loadSite,
  loadTariffFile,
  type Study,
  siteSchema,
  type TariffFile,
} from '@duskbank/core/site';
import { nameFile } from './fail.ts';
import { readInput } from './read.ts';
import { xlsx } from './xlsx.ts';
import { yaml } from './yaml.ts';

/** Reads a site file and everything that it names. */
export function readSite(path: string, options: Omit<LoadOptions, 'yaml' | 'xlsx'> = {}): Promise<LoadedSite> {
  nameFile(path, Object.keys(siteSchema.shape));
  return loadSite(path, readInput, { ...options, yaml, xlsx });
}

/** Reads a site file and everything that it names, and lays it on one axis under its own tariff. */
export async function readStudy(path: string): Promise<Study> {
  return (await readSite(path)).study;
}

/** Reads a tariff file alone. */
export function readTariff(path: string): Promise<TariffFile> {
  return loadTariffFile(path, readInput, yaml);
}
