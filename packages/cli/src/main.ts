import { showName } from '@duskbank/core/input';
import { VERSION } from '@duskbank/core/study';
import { Command, CommanderError, Option } from 'commander';
import { EXIT, isBrokenPipe, reportFailure, reportMisuse } from './io/fail.ts';
import { RESULTS } from './io/ours.ts';
import { note, print, shown } from './io/output.ts';

/** What commander says of a wrong call: its sentence, which quotes an argument, and a suggestion on a line of its own. */
function refusal(message: string): string {
  const [, sentence = '', suggestion = ''] = /^([\s\S]*?)(\n\(Did you mean [^\n]*\))?\n*$/.exec(message) ?? [];
  const typed = process.argv.slice(2).flatMap((text) => [text, text.slice(text.indexOf('=') + 1)]);
  const quoted = typed.find((text) => text !== '' && text !== showName(text) && sentence.includes(`'${text}'`));
  return `${shown(quoted === undefined ? sentence : sentence.replaceAll(quoted, showName(quoted)))}${suggestion}`;
}

const program = new Command('duskbank')
  .description('What a home battery saves on a time-of-use tariff, and how long it keeps the lights on.')
  .version(VERSION, '-V, --version', 'print the version')
  .helpOption('-h, --help', 'print this help')
  .configureHelp({ helpWidth: 80 })
  .showSuggestionAfterError()
  .configureOutput({ writeOut: print, writeErr: note, outputError: (message, write) => write(refusal(message)) })
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
  .option('--intervals <file>', 'write every flow of every interval to a CSV file')
  .option('--force', 'let --intervals replace a file that Duskbank did not write')
  .option('--strategy <names...>', 'run these strategies only')
  .option('--all', 'run "rolling" too, which plans again every hour: some seconds a year')
  .option('--wear', 'beside them, run those that count what each cycle wears off (economics.price and cycleLife)')
  .option(
    '--tariff <file>',
    'set this tariff beside the site’s own; may be given several times',
    (file: string, files: string[] = []) => [...files, file],
  )
  .option('--today <date>', 'planned outages before this date are over (default: today)')
  .action(async (site: string, options) => (await import('./commands/compare.ts')).run(site, options));

program
  .command('settings')
  .summary('what to enter on the box: clock times, charge targets, reserve')
  .description(
    'Searches the settings that the site’s plant.controller allows, prints the sheet to enter, what it saves on weeks that it has not seen, and what it leaves. Settings that a box has now are judged beside it.',
  )
  .argument('<site>', 'site file (JSON or YAML)')
  .option(
    '--try <file>',
    'judge these settings too: reserve and schedules as a box has them (JSON or YAML; "schema sheet" prints the format)',
  )
  .option('--charge <window>', 'judge this box too: it charges from the grid in "23:00-05:00"')
  .option('--charge-to <percent>', 'up to so much, % (default: 100)')
  .option('--charge-kw <kW>', 'with so much power (default: all that the plant takes)')
  .option('--carry <window>', 'it carries load in "16:00-21:00" alone (default: whenever there is load)')
  .option('--reserve <percent>', 'it keeps so much for an outage, % (default: the sheet’s)')
  .option('--today <date>', 'lines of the year from this date on (default: today)')
  .option('--json', 'print the results as one JSON object')
  .action(async (site: string, options) => (await import('./commands/settings.ts')).run(site, options));

program
  .command('explain')
  .summary('what the battery did at one moment, and why')
  .description(
    'Says for one interval what a strategy did, what a stored kWh was worth then, what it could have done instead, and which limits held it.',
  )
  .argument('<site>', 'site file (JSON or YAML)')
  .requiredOption('--at <time>', 'the moment, on the home’s clock (2026-01-15T18:30) or with an offset')
  .option('--strategy <name>', 'the strategy (default: the one that compare’s headline is of)')
  .option('--json', 'print the results as one JSON object')
  .action(async (site: string, options) => (await import('./commands/explain.ts')).run(site, options));

program
  .command('outage')
  .summary('how long the lights stay on, what may stay on, what an hour more costs')
  .description(
    'Says for how long stored energy and the island’s solar carry the backed-up load, were the grid to fail at any time of the year, what may stay on, and what more reserve costs.',
  )
  .argument('<site>', 'site file (JSON or YAML)')
  .option('--strategy <name>', 'the strategy that the answers are about (default: the one that the headline is of)')
  .option('--full', 'print all tables that the answers rest on')
  .option('--today <date>', 'planned outages before this date are over (default: today)')
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
  .option('--actual <file>', 'CSV of the bills that were charged: first day, last day, amount and, where known, kWh')
  .option('--actual-from-file', 'take the charges from the meter files: a cost column, or what an ESPI feed tells')
  .option('--json', 'print the results as one JSON object')
  .addOption(new Option('--csv', 'print one row a line of a bill').conflicts('json'))
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
  .option('--sheet <name>', 'which sheet of a spreadsheet is read')
  .option('--interval-end', 'labels of an interval file name the end of their interval')
  .option('--interval-start', 'labels of an interval file name the start of their interval')
  .option('--json', 'print the results as one JSON object')
  .action(async (file: string, options) => (await import('./commands/check.ts')).run(file, options));

program
  .command('inspect')
  .summary('read meter files: what was understood, a picture, totals, faults')
  .description(
    'Reads interval files of a home, joins them, and says what was understood: evidence, monthly totals, the year as a picture, findings, metering faults. Writes them clean with --write.',
  )
  .argument('<files...>', 'interval files (CSV, ESPI XML, NEM12; gzip, zip)')
  .option('--zone <zone>', 'IANA time zone of the labels, such as America/Denver')
  .addOption(
    new Option('--unit <unit>', 'unit of the values').choices(['kWh', 'Wh', 'MWh', 'kW', 'W', 'MW', 'kW-minutes']),
  )
  .option('--columns <pairs...>', 'columns by name or number: import=Usage solar=3; several are added: import=2,3')
  .addOption(
    new Option('--channel <channel>', 'what a nameless column is').choices([
      'import',
      'export',
      'load',
      'solar',
      'net',
    ]),
  )
  .addOption(new Option('--sign <sign>', 'of a signed column').choices(['import-positive', 'export-positive']))
  .option('--interval-end', 'labels name the end of their interval')
  .option('--interval-start', 'labels name the start of their interval')
  .addOption(
    new Option('--date-order <order>', 'of dates such as 03/04/2026').choices([
      'day-first',
      'month-first',
      'year-first',
    ]),
  )
  .addOption(new Option('--decimal <mark>', 'before decimals; the other one parts thousands').choices(['.', ',']))
  .addOption(
    new Option('--clock <clock>', 'of the labels (standard never changes)').choices(['local', 'standard', 'utc']),
  )
  .option('--year <year>', 'of dates that print none')
  .option('--sheet <name>', 'which sheet of a spreadsheet is read')
  .option('--usage-point <numbers...>', 'of several, from 1; more than one are added')
  .option('--meter-reading <numbers...>', 'of an ESPI file, from 1; more than one of a channel are added')
  .option('--rows <pairs...>', 'what rows are by their type cell: 1=import 2=export 9=ignore')
  .addOption(
    new Option('--repeats <which>', 'of two readings of one interval that differ').choices(['first', 'last', 'add']),
  )
  .option('--service-kw <kW>', 'most that the service carries (default: 100)')
  .option('--price <perKwh>', 'price of a kWh, to tell units apart by a cost column')
  .option('--billed-kwh <kWh>', 'billed over the span of the data, to tell units and find faults')
  .option('--latitude <degrees>', 'of the home, north positive, to check the clock by the sun')
  .option('--longitude <degrees>', 'of the home, east positive')
  .option('--fill-gaps <hours>', 'fill gaps up to this long with the median of like days')
  .option('--flip <what>', 'grid: import becomes export and the other way')
  .option('--swap <what>', 'solar,grid: the two have each other’s transformers')
  .option('--scale <pairs...>', 'multiply a channel: solar=2')
  .option('--shift <minutes>', 'add to every time: -60 for a clock an hour late')
  .option('--solar-in-load', 'take solar off load, in which it was counted')
  .option('--write <file>', 'write a clean interval CSV')
  .option('--force', 'let --write replace a file that Duskbank did not write')
  .option('--json', 'print the results as one JSON object')
  .action(async (files: string[], options) => (await import('./commands/inspect.ts')).run(files, options));

program
  .command('init')
  .summary('write a commented starter site with its tariff')
  .description(
    'Writes site.yaml and tariff.yaml, with comments, to start from. Overwrites nothing, and leaves blank what it can’t know.',
  )
  .argument('[folder]', 'folder to write to', '.')
  .option('--meter <file>', 'a meter file: what it says is filled in')
  .option('--zone <zone>', 'IANA time zone of that file’s labels, where it doesn’t say')
  .option('--json', 'print the names of the written files as one JSON object')
  .action(async (folder: string, options) => (await import('./commands/init.ts')).run(folder, options));

program
  .command('schema')
  .summary('print the JSON Schema of a file or of a result')
  .description(
    'Prints the JSON Schema of a file (site, tariff) or of what a command prints with --json, for editors and other programs.',
  )
  .argument('<kind>', `site, tariff; ${RESULTS.join(', ')}`)
  .action(async (kind: string) => (await import('./commands/schema.ts')).run(kind));

process.stdout.on('error', (error) => {
  if (isBrokenPipe(error)) process.exit(process.exitCode ?? EXIT.done);
  note(`error: the output could not be written: ${shown(error.message)}`);
  process.exit(EXIT.ourFailure);
});
// Where nobody reads the notes any more, the exit code still tells.
process.stderr.on('error', () => {});

const asJson = process.argv.includes('--json');
try {
  await program.parseAsync();
} catch (error) {
  if (!(error instanceof CommanderError)) process.exitCode = reportFailure(error, asJson);
  else if (error.exitCode === 0) process.exitCode = EXIT.done;
  else process.exitCode = reportMisuse(refusal(error.message), asJson);
}
