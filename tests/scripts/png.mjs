// Shrinks a picture of a page to 256 colours, which are enough for few colours and their blends.
// PNG (Portable Network Graphics) Specification, third edition, https://www.w3.org/TR/png-3/

import { constants, crc32, deflateSync, inflateSync } from 'node:zlib';

const SIGNATURE = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);

/** @param {string} type @param {Buffer} data */
function chunk(type, data) {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const frame = Buffer.alloc(body.length + 8);
  frame.writeUInt32BE(data.length, 0);
  body.copy(frame, 4);
  frame.writeUInt32BE(crc32(body), body.length + 4);
  return frame;
}

/** The filter of section 9.4. @param {number} a @param {number} b @param {number} c */
function paeth(a, b, c) {
  const [pa, pb, pc] = [Math.abs(b - c), Math.abs(a - c), Math.abs(a + b - 2 * c)];
  return pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
}

/**
 * The colours of a picture, row by row, as 0xrrggbb. Opaque, 8 bits a channel, not interlaced.
 *
 * @param {Buffer} png
 */
function decode(png) {
  const parts = [];
  /** @type {Buffer} */
  let header = Buffer.alloc(0);
  for (let at = SIGNATURE.length; at < png.length;) {
    const length = png.readUInt32BE(at);
    const type = png.toString('latin1', at + 4, at + 8);
    const data = png.subarray(at + 8, at + 8 + length);
    if (type === 'IHDR') header = data;
    if (type === 'IDAT') parts.push(data);
    at += length + 12;
  }
  const [width, height] = [header.readUInt32BE(0), header.readUInt32BE(4)];
  const [depth, colour, interlaced] = [header[8], header[9], header[12]];
  if (depth !== 8 || (colour !== 2 && colour !== 6) || interlaced !== 0)
    throw new Error('not a plain RGB picture');
  const size = colour === 2 ? 3 : 4;
  const stride = width * size;
  const raw = inflateSync(Buffer.concat(parts));
  const pixels = new Uint32Array(width * height);
  /** @type {Buffer} */
  let above = Buffer.alloc(stride);
  for (let y = 0; y < height; y += 1) {
    const start = y * (stride + 1);
    const filter = raw[start];
    const row = raw.subarray(start + 1, start + 1 + stride);
    for (let i = 0; i < stride; i += 1) {
      const [a, b, c] = [i < size ? 0 : row[i - size], above[i], i < size ? 0 : above[i - size]];
      const guess = [0, a, b, (a + b) >> 1, paeth(a, b, c)][filter];
      row[i] = (row[i] + guess) & 255;
    }
    for (let x = 0; x < width; x += 1) pixels[y * width + x] = row.readUIntBE(x * size, 3);
    above = row;
  }
  return { width, height, pixels };
}

/** @param {number} a @param {number} b */
function distance(a, b) {
  const part = (/** @type {number} */ shift) => ((a >> shift) & 255) - ((b >> shift) & 255);
  return part(16) ** 2 + part(8) ** 2 + part(0) ** 2;
}

/**
 * The same picture in its 256 commonest colours; every other one becomes the nearest of them.
 *
 * @param {Buffer} png
 */
export function shrink(png) {
  const { width, height, pixels } = decode(png);
  /** @type {Map<number, number>} */
  const counts = new Map();
  for (const pixel of pixels) counts.set(pixel, (counts.get(pixel) ?? 0) + 1);
  const palette = [...counts.keys()]
    .sort((a, b) => (counts.get(b) ?? 0) - (counts.get(a) ?? 0))
    .slice(0, 256);
  const index = new Map(palette.map((colour, i) => [colour, i]));
  for (const colour of counts.keys()) {
    if (index.has(colour)) continue;
    const nearest = palette.reduce(
      (best, one, i) => (distance(one, colour) < distance(palette[best], colour) ? i : best),
      0,
    );
    index.set(colour, nearest);
  }

  const rows = Buffer.alloc((width + 1) * height); // each row begins with its filter: 0, none
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) rows[y * (width + 1) + 1 + x] = index.get(pixels[y * width + x]) ?? 0;
  }
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8, 3], 8); // 8 bits, by palette
  const colours = Buffer.from(palette.flatMap((colour) => [colour >> 16, (colour >> 8) & 255, colour & 255]));
  const data = deflateSync(rows, { level: constants.Z_BEST_COMPRESSION, memLevel: 9 });
  return Buffer.concat([
    SIGNATURE,
    chunk('IHDR', header),
    chunk('PLTE', colours),
    chunk('IDAT', data),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
