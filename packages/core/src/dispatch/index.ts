export type { Planner, Strategy, StrategyView } from './strategy.ts';
