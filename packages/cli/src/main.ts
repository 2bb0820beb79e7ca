import { Command, CommanderError, Option } from 'commander';
import { EXIT, isBrokenPipe, reportFailure } from './io/fail.ts';

const VERSION = '0.1.0';

const program = new Command('duskbank')
  .description('What a home battery saves on a time-of-use tariff, and how long it keeps the lights on.')
  .version(VERSION, '-V, --version', 'print the version')
  .helpOption('-h, --help', 'print this help')
  .configureHelp({ helpWidth: 80 })
  .showSuggestionAfterError()
  .exitOverride();

program
  .command('compare')
  .summary('strategies side by side: bills, savings, hours of backup')
  .description(
    'Replays a home’s metered year under each dispatch strategy, and sets bills, savings and hours of backup side by side.',
  )
  .argument('<site>', 'site file (JSON or YAML)')
  .option('--json', 'print the results as one JSON object')
  .addOption(new Option('--csv', 'print one row a strategy').conflicts('json'))
  .option('--intervals <file>', 'write every flow of every interval to a CSV file, replacing it')
  .option('--strategy <names...>', 'run these strategies only')
  .option('--all', 'run "rolling" too, which plans again every hour: some seconds a year')
  .action(async (site: string, options) => (await import('./commands/compare.ts')).run(site, options));

program
  .command('outage')
  .summary('how long the lights stay on, what may stay on, what an hour more costs')
  .description(
    'Says for how long stored energy and the island’s solar carry the backed-up load, were the grid to fail at any time of the year, what may stay on, and what more reserve costs.',
  )
  .argument('<site>', 'site file (JSON or YAML)')
  .option('--strategy <name>', 'the strategy that the answers are about (default: the causal one that saves most)')
  .option('--json', 'print the results as one JSON object')
  .action(async (site: string, options) => (await import('./commands/outage.ts')).run(site, options));

program
  .command('circuits')
  .summary('which circuits the battery carries: together, alone, never; per leg')
  .description(
    'Holds the circuits of a site against the equipment’s output, pooled and per leg, their starts on top, and against the panel.',
  )
  .argument('[site]', 'site file (JSON or YAML)')
  .option('--appliances', 'print the starter list of common appliances and its sources')
  .option('--json', 'print the results as one JSON object')
  .action(async (site: string | undefined, options) => (await import('./commands/circuits.ts')).run(site, options));

program
  .command('bill')
  .summary('the bills of the metered past, line by line')
  .description(
    'Makes the bills of the metered past from the site’s tariff, line by line, and sets them beside those that were charged.',
  )
  .argument('<site>', 'site file (JSON or YAML)')
  .option('--tariff <file>', 'bill on this tariff in place of the site’s')
  .option('--actual <file>', 'CSV of the bills that were charged: start,end,total and, where known, kWh')
  .option('--json', 'print the results as one JSON object')
  .option('--csv', 'print one row a line of a bill')
  .action(async (site: string, options) => (await import('./commands/bill.ts')).run(site, options));

program
  .command('tariff')
  .summary('what a tariff says: in words, a week of prices, the next change')
  .description('Says in plain words what a tariff file charges and pays, and draws a week of prices for each season.')
  .argument('<file>', 'tariff file (JSON or YAML)')
  .option('--at <date>', 'the day that is asked about (default: today)')
  .option('--json', 'print the results as one JSON object')
  .action(async (file: string, options) => (await import('./commands/tariff.ts')).run(file, options));

program
  .command('check')
  .summary('read any input file and say what is understood')
  .description('Reads a site, tariff or interval file, says what was understood and what is wrong.')
  .argument('<file>', 'site, tariff or interval file')
  .option('--zone <zone>', 'IANA time zone of an interval file’s labels')
  .option('--unit <unit>', 'unit of an interval file’s values, such as kWh or kW')
  .option('--json', 'print the results as one JSON object')
  .action(async (file: string, options) => (await import('./commands/check.ts')).run(file, options));

program
  .command('init')
  .summary('write a commented starter site with its tariff')
  .description('Writes site.yaml and tariff.yaml, with comments, to start from. Overwrites nothing.')
  .argument('[folder]', 'folder to write to', '.')
  .action(async (folder: string) => (await import('./commands/init.ts')).run(folder));

program
  .command('schema')
  .summary('print the JSON Schema of a file format')
  .description('Prints the JSON Schema of the site or tariff file, for editors and other programs.')
  .argument('<kind>', 'site or tariff')
  .action(async (kind: string) => (await import('./commands/schema.ts')).run(kind));

process.stdout.on('error', (error) => {
  process.exit(isBrokenPipe(error) ? (process.exitCode ?? EXIT.done) : EXIT.ourFailure);
});
// Where nobody reads the notes any more, the exit code still tells.
process.stderr.on('error', () => {});

try {
  await program.parseAsync();
} catch (error) {
  if (error instanceof CommanderError) process.exitCode = error.exitCode === 0 ? EXIT.done : EXIT.input;
  else process.exitCode = reportFailure(error);
}
