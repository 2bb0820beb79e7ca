// For the other folders of core: rules for the door, and forms for loops that check nothing.
export { compileOptions, layTariff } from './compile.ts';
export { totalOf, valuesOf } from './evaluate.ts';
export { aTariff } from './parsed.ts';
export { aCompiledTariff, someTerms } from './rules.ts';
