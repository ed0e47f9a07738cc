import type { StonehandError } from '@stonehand/base';
import type { SaxesAttributeNS, SaxesTagNS } from 'saxes';
import { type OpcPackage, ruleBroken } from './opc-package.ts';

export type XmlTag = SaxesTagNS;

export interface XmlHandler {
  open(tag: XmlTag, line: number): void;
  close?(tag: XmlTag): void;
}

/**
 * Runs through one XML part under the rules of 3MF core 1.4.0 §2.3.2: UTF-8 only, no document type declaration.
 * @throws StonehandError MESH_MALFORMED
 */
export async function walkXml(opc: OpcPackage, part: string, handler: XmlHandler): Promise<void> {
  const { SaxesParser } = await import('saxes');
  const parser = new SaxesParser({ xmlns: true, fileName: part });
  const fail = (what: string, rule: string, cause?: unknown): StonehandError =>
    ruleBroken(opc.name, `${part} line ${parser.line}: ${what}`, rule, cause);
  parser.on('xmldecl', ({ encoding }) => {
    if (encoding !== undefined && encoding.toLowerCase() !== 'utf-8') {
      throw fail(`the encoding is ${encoding}, only UTF-8 is allowed`, '3MF core 2.3.2');
    }
  });
  parser.on('doctype', () => {
    throw fail('a document type declaration is not allowed', '3MF core 2.3.2');
  });
  parser.on('error', (error) => {
    throw fail(error.message.replace(/^[^ ]*:\d+:\d+: /, ''), 'XML', error);
  });
  parser.on('opentag', (tag) => handler.open(tag, parser.line));
  parser.on('closetag', (tag) => handler.close?.(tag));
  const decoder = new TextDecoder('utf-8', { fatal: true });
  try {
    for await (const piece of opc.read(part)) parser.write(decoder.decode(piece, { stream: true }));
    parser.write(decoder.decode()).close();
  } catch (error) {
    if (error instanceof TypeError) throw fail('the text is not UTF-8', '3MF core 2.3.2', error);
    throw error;
  }
}

/** The attribute without a namespace, blanks around it removed. */
export function attribute(tag: XmlTag, name: string): string | undefined {
  const found: SaxesAttributeNS | undefined = tag.attributes[name];
  return found === undefined || found.uri !== '' ? undefined : found.value.trim();
}

/** The attribute of that namespace, whatever its prefix. */
export function foreignAttribute(tag: XmlTag, uri: string, local: string): string | undefined {
  for (const found of Object.values(tag.attributes))
    if (found.uri === uri && found.local === local) return found.value.trim();
  return undefined;
}
