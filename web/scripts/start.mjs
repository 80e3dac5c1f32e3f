// `npm --prefix web start`: set up, build the engine and the page, serve it on this machine.

import { parseArgs } from 'node:util';
import { buildEngine } from './engine.mjs';
import { buildPage, servePage } from './page.mjs';
import { main, Stop } from './steps.mjs';

const HELP = `npm --prefix web start [-- options]
  --port N     first port to try (5173); the next free one is taken
  --host NAME  address to serve on (127.0.0.1: this machine only)
  --live       serve the sources of the page and follow changes to them`;

function readOptions() {
  try {
    const { values } = parseArgs({
      options: {
        port: { type: 'string', default: '5173' },
        host: { type: 'string', default: '127.0.0.1' },
        live: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    });
    const port = Number(values.port);
    if (!Number.isInteger(port) || port < 1 || port > 65535) {
      throw new Stop(`--port is a whole number from 1 to 65535, not "${values.port}".`);
    }
    return { ...values, port };
  } catch (error) {
    throw error instanceof Stop ? error : new Stop(`${error.message}\n${HELP}`);
  }
}

await main(async () => {
  const options = readOptions();
  if (options.help) {
    console.log(HELP);
    return;
  }
  await (options.live ? buildEngine() : buildPage());
  const address = await servePage(options);
  console.log(`\nThe page is at ${address}\nCtrl-C ends it.`);
});
