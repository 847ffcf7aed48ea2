#!/usr/bin/env node
/** The command line of tripstroke. */
import { run } from './commands.ts';
import { reportFault } from './programFault.ts';
import { settle, watchStreams } from './terminal.ts';

watchStreams();
process.on('uncaughtException', (error) => settle(reportFault(error)));
settle(await run(process.argv.slice(2)));
