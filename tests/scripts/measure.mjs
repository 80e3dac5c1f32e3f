// Helpers for the scripts that measure.

export const middle = (/** @type {number[]} */ numbers) =>
  numbers.toSorted((a, b) => a - b)[numbers.length >> 1] ?? NaN;

/** Starts a server for this machine only. @param {import('node:net').Server} server @returns {Promise<number>} its port, any that is free */
export function listen(server) {
  return new Promise((resolve, reject) => {
    server.on('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      if (typeof address === 'object' && address) resolve(address.port);
      else reject(new Error('The server has no port.'));
    });
  });
}
