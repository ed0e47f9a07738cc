// Seeded damage to files: the same seed and case give the same bytes.
import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { seededRandom } from '@stonehand/base';
import { unzipSync } from 'fflate';
import { SEEDS, zip } from './mesh-seeds.mjs';

/** The file of one case. @returns {{ name: string, bytes: Uint8Array }} */
export function mutated(format, seed, index) {
  const given = seedOf(format);
  const random = seededRandom(hash(`${format} ${seed} ${index}`));
  const pick = (n) => random.below(n);
  if (given.inner !== undefined && pick(3) > 0) {
    const inner = given.inner[pick(given.inner.length)];
    return { name: given.name, bytes: inner.wrap(damaged(inner.bytes, inner.text, pick)) };
  }
  if (given.entries === undefined) return { name: given.name, bytes: damaged(given.bytes, given.text === true, pick) };
  // Archives: the text inside, packed again; or the archive's own bytes, headers above all.
  if (pick(2) === 0) {
    const entry = pick(3) === 0 ? Object.keys(given.entries)[pick(Object.keys(given.entries).length)] : given.mutate;
    const text = !/\.(zip|png|jpe?g|texture)$/i.test(entry);
    const entries = { ...given.entries, [entry]: damaged(given.entries[entry], text, pick) };
    if (pick(10) === 0) delete entries[Object.keys(entries)[pick(Object.keys(entries).length)]];
    return { name: given.name, bytes: zip(entries, pick(2) === 0 ? 0 : 6) };
  }
  const bytes = zip(given.entries);
  return { name: given.name, bytes: pick(2) === 0 ? zipHeaderEdit(bytes, pick) : damaged(bytes, false, pick) };
}

/** A format's made file, or for `file:PATH` a file of the disk. */
function seedOf(format) {
  if (!format.startsWith('file:')) return SEEDS[format];
  const path = format.slice(5);
  const name = basename(path);
  const bytes = new Uint8Array(readFileSync(path));
  if (!/\.(3mf|zip)$/i.test(name)) return { name, bytes, text: !bytes.subarray(0, 4096).includes(0) };
  const entries = Object.fromEntries(Object.entries(unzipSync(bytes)).filter(([entry]) => !entry.endsWith('/')));
  return {
    name,
    entries,
    mutate: Object.keys(entries).find((entry) => /model/i.test(entry)) ?? Object.keys(entries)[0],
  };
}

// FNV-1a, 32 bits (Fowler, Noll, Vo; constants from memory).
function hash(text) {
  let h = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193);
  return h >>> 0;
}

function damaged(bytes, text, pick) {
  let out = bytes.slice();
  const rounds = 1 + pick(3);
  for (let i = 0; i < rounds; i++) {
    const kinds = text ? [...BYTE_EDITS, ...TEXT_EDITS, ...TEXT_EDITS] : [...BYTE_EDITS, wordEdit];
    if (out.length > 0) out = kinds[pick(kinds.length)](out, pick);
  }
  return out;
}

const BYTE_EDITS = [bitFlips, truncation, splice, insertion];

function bitFlips(bytes, pick) {
  for (let i = 1 + pick(8); i > 0; i--) bytes[pick(bytes.length)] ^= 1 << pick(8);
  return bytes;
}

function truncation(bytes, pick) {
  return bytes.slice(0, pick(bytes.length));
}

/** A stretch of the file again at another place, over what was there or in between. */
function splice(bytes, pick) {
  const from = pick(bytes.length);
  const part = bytes.slice(from, from + 1 + pick(64));
  const at = pick(bytes.length);
  return joined(bytes.slice(0, at), part, bytes.slice(pick(2) === 0 ? at : at + part.length));
}

function insertion(bytes, pick) {
  const part = Uint8Array.from({ length: 1 + pick(16) }, () => [0, 255, 60, 34, 32, 10, 47, 46][pick(8)]);
  const at = pick(bytes.length + 1);
  return joined(bytes.slice(0, at), part, bytes.slice(at));
}

/** Four bytes somewhere become a wild number: counts, offsets, lengths, floats. */
function wordEdit(bytes, pick) {
  if (bytes.length < 4) return bytes;
  // Heads hold the counts, so they get more than their share.
  const at = pick(2) === 0 ? pick(Math.min(bytes.length - 3, 128)) : pick(bytes.length - 3);
  new DataView(bytes.buffer, bytes.byteOffset).setUint32(at, WILD_WORDS[pick(WILD_WORDS.length)], pick(2) === 0);
  return bytes;
}

const WILD_WORDS = [
  0, 1, 2, 11, 13, 255, 65535, 65536, 0x7fffffff, 0x80000000, 0xffffffff, 0x7fc00000, 0x7f800000, 100_000_000,
];

const TEXT_EDITS = [numberEdit, numberEdit, tokenEdit, tokenSwap, tokenInsert];

/** One number of the text becomes another. */
function numberEdit(bytes, pick) {
  return replaced(bytes, /[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?/gi, () => WILD_NUMBERS[pick(WILD_NUMBERS.length)], pick);
}

const WILD_NUMBERS = [
  '0',
  '-1',
  '1',
  '7',
  '8',
  '9',
  '36',
  '1e999',
  '-1e999',
  'nan',
  'inf',
  '4294967296',
  '1e15',
  '2147483648',
  '99999999',
  '0x10',
  '1,5',
  '1e-400',
  '',
  '-0',
  '1000000',
  '٣',
];

/** One word or tag becomes another of the same file. */
function tokenEdit(bytes, pick) {
  const words = tokens(bytes);
  if (words.length === 0) return bytes;
  return replaced(bytes, TOKEN, () => words[pick(words.length)], pick);
}

function tokenSwap(bytes, pick) {
  return replaced(bytes, /\s+\w+="[^"]*"|<[^>]*>|"\w+":|\S+/g, (found) => (pick(2) === 0 ? '' : found + found), pick);
}

function tokenInsert(bytes, pick) {
  return replaced(bytes, /[>\s]/g, (found) => found + HOSTILE[pick(HOSTILE.length)], pick);
}

const HOSTILE = [
  '<!DOCTYPE a [<!ENTITY b "cc">]>',
  '&b;',
  '&#0;',
  '&#x1F600;',
  '<![CDATA[ 1 ]]>',
  '<!-- -- -->',
  '<?xml version="1.0"?>',
  '<a xmlns="b:c">',
  '<b:a/>',
  '</a>',
  '\\\n',
  '\ufeff',
  '\u0000',
  '<component objectid="2"/>',
  '<item objectid="9"/>',
  '<instance objectid="4"/>',
  '<object id="1">',
  '"children":[0],',
  '"count":4294967295,',
  'f 1 2 3 4 5 6 7 8 1 2 3\n',
  'element face 1000000\n',
  'facet',
];

const TOKEN = /<\/?[\w:]+|[\w:]+=|"[^"]*"|[A-Za-z_]\w*/g;

function tokens(bytes) {
  return text(bytes).match(TOKEN) ?? [];
}

function replaced(bytes, pattern, by, pick) {
  const from = text(bytes);
  const found = [...from.matchAll(pattern)];
  if (found.length === 0) return bytes;
  const { index, 0: word } = found[pick(found.length)];
  return new TextEncoder().encode(from.slice(0, index) + by(word) + from.slice(index + word.length));
}

function text(bytes) {
  return new TextDecoder().decode(bytes);
}

/** A field of one of the archive's own records: sizes, offsets, methods, flags, name lengths, names. */
function zipHeaderEdit(bytes, pick) {
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  const records = [];
  for (let at = 0; at + 4 <= bytes.length; at++) {
    const mark = view.getUint32(at, true);
    if (mark === 0x04034b50) records.push([at, 30]);
    if (mark === 0x02014b50) records.push([at, 46]);
    if (mark === 0x06054b50) records.push([at, 22]);
  }
  const [at, size] = records[pick(records.length)];
  if (pick(5) === 0 && size > 22) {
    const names = ['../../x', '/etc/x', 'c:\\x\\y', 'a\u0000b', '_rels/.rels'];
    const name = new TextEncoder().encode(names[pick(names.length)]);
    bytes.set(name.subarray(0, Math.max(0, bytes.length - at - size)), at + size);
    return bytes;
  }
  const field = at + 4 + 2 * pick((size - 4) / 2);
  if (pick(2) === 0) view.setUint16(field, [0, 1, 8, 9, 12, 99, 255, 0xffff, 0x0801][pick(9)], true);
  else if (field + 4 <= bytes.length) view.setUint32(field, WILD_WORDS[pick(WILD_WORDS.length)], true);
  return bytes;
}

function joined(...parts) {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** The whole file of a format, undamaged. @returns {{ name: string, bytes: Uint8Array }} */
export function undamaged(format) {
  const { name, bytes, entries } = SEEDS[format];
  return { name, bytes: bytes ?? zip(entries) };
}
