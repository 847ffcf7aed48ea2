#!/usr/bin/env node
/** The command line of tripstroke. */
import { run } from './commands.ts';
import { settle, watchStreams } from './terminal.ts';

watchStreams();
settle(await run(process.argv.slice(2)));
