export * from './axis/index.ts';
export * from './dispatch/index.ts';
export * from './economics/index.ts';
export * from './input/index.ts';
export * from './meter/index.ts';
export * from './outage/index.ts';
export * from './plant/index.ts';
export * from './tariff/index.ts';
