export { type Cycling, type FadeModel, FIELD_FADE_PER_YEAR, gasper, naumann, type Storage } from './fade.ts';
export { type Cycle, rainflow } from './rainflow.ts';
