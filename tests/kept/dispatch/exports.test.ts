import { keepExports } from '../../support/kept-exports.ts';

await keepExports('dispatch');
