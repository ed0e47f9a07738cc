import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { canonicalJson, StonehandError } from '@stonehand/base';
import type { Accepted, Placed } from '@stonehand/model';
import { type Document, isSeq, parseDocument, type YAMLMap } from 'yaml';
import { ACCEPTED_FILE } from './load-workspace.ts';
import { isRotation } from './read-accepted.ts';
import { replaceFile } from './replace-file.ts';

/** What may be accepted: the pose of a piece, the cuts of a part, a plate. */
export type Choice =
  | Readonly<{ kind: 'pose'; pieceId: string; rotation: readonly number[]; note?: string }>
  | Readonly<{
      kind: 'cuts';
      partId: string;
      planes: Accepted['cuts'][string];
    }>
  | Readonly<{ kind: 'plate'; printerId: string; placed: readonly Placed[] }>;

const HEADER = ' Accepted choices: a later search does not move them. Delete an entry to set it free.';

/**
 * Writes a choice into accepted.yaml, whole file or not at all; comments and everything else in it stay. An accepted pose or cut of
 * the same piece or part is replaced; a plate that is there already stays as it is.
 * @throws StonehandError YAML_SYNTAX when the file cannot be read, DATA_INVALID for a rotation that is none, DATA_DUPLICATE when a
 * copy of the plate is on another accepted plate
 */
export async function acceptChoice(root: string, choice: Choice): Promise<void> {
  const path = join(root, ACCEPTED_FILE);
  const document = await openDocument(path);
  switch (choice.kind) {
    case 'pose':
      acceptPose(document, choice);
      break;
    case 'cuts':
      setIn(
        document,
        'cuts',
        choice.partId,
        choice.planes.map(({ normal, offsetMm, on, joint }) => ({
          normal,
          offset: offsetMm,
          ...(on === undefined ? {} : { on }),
          ...(joint === undefined ? {} : { joint }),
        })),
      );
      break;
    case 'plate':
      acceptPlate(document, choice.printerId, choice.placed);
      break;
  }
  await replaceFile(path, document.toString({ lineWidth: 120, flowCollectionPadding: true }));
}

async function openDocument(path: string): Promise<Document> {
  const text = await readFile(path, 'utf8').catch((cause: NodeJS.ErrnoException) => {
    if (cause.code === 'ENOENT') return '';
    throw new StonehandError('FILE_UNREADABLE', `${ACCEPTED_FILE} cannot be read`, 'Mend the rights of the file.', {
      cause,
    });
  });
  const document = parseDocument(text);
  const [error] = document.errors;
  if (error !== undefined) {
    const at = error.linePos?.[0];
    const place = at === undefined ? ACCEPTED_FILE : `${ACCEPTED_FILE}:${at.line}:${at.col}`;
    throw new StonehandError('YAML_SYNTAX', `${place} is not YAML`, 'Mend the file first; nothing was written.', {
      cause: error,
    });
  }
  if (document.contents === null) {
    document.contents = document.createNode({}) as never;
    if (text.trim() === '') document.commentBefore = HEADER;
  }
  return document;
}

function acceptPose(document: Document, choice: Extract<Choice, { kind: 'pose' }>): void {
  if (!isRotation(choice.rotation)) {
    throw new StonehandError(
      'DATA_INVALID',
      `the pose of ${choice.pieceId} is no rotation`,
      'Give nine numbers of a rotation, row by row.',
    );
  }
  const note = choice.note === undefined ? {} : { note: choice.note };
  setIn(document, 'poses', choice.pieceId, { rotation: choice.rotation, ...note });
}

function acceptPlate(document: Document, printerId: string, placed: readonly Placed[]): void {
  const plate = {
    printer: printerId,
    placed: placed.map(({ copyId, xMm, yMm, turnDeg }) => ({ copy: copyId, x: xMm, y: yMm, turn: turnDeg })),
  };
  const plates = (document.toJS() as { plates?: readonly (typeof plate)[] | null }).plates ?? [];
  if (plates.some((other) => canonicalJson(other) === canonicalJson(plate))) return;
  const taken = new Set(plates.flatMap((other) => other.placed.map((copy) => copy.copy)));
  const twice = placed.find((copy) => taken.has(copy.copyId));
  if (twice !== undefined) {
    throw new StonehandError(
      'DATA_DUPLICATE',
      `${twice.copyId} is on an accepted plate already`,
      `Delete that plate from ${ACCEPTED_FILE} first.`,
    );
  }
  if (!isSeq(document.get('plates'))) document.set('plates', document.createNode([]));
  const node = document.createNode(plate) as YAMLMap;
  for (const copy of (node.get('placed') as { items: YAMLMap[] }).items) copy.flow = true;
  document.addIn(['plates'], node);
}

function setIn(document: Document, section: string, id: string, value: unknown): void {
  if (document.get(section) === undefined || document.get(section) === null)
    document.set(section, document.createNode({}));
  const node = document.createNode(value);
  flowNumbers(node);
  document.setIn([section, id], node);
}

// Rows of numbers read better on one line.
function flowNumbers(node: unknown): void {
  const items = (node as { items?: readonly unknown[] }).items ?? [];
  for (const item of items) flowNumbers((item as { value?: unknown }).value ?? item);
  if (isSeq(node) && node.items.every((item) => typeof (item as { value?: unknown }).value === 'number'))
    node.flow = true;
}
