import { join } from 'node:path';
import type { Plan } from '@stonehand/model';
import { contactSheetSvg, type Pictures, renderTravellers } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';

/** sheets.html to print, one page a plate, and contact-sheet.svg with all plates to one scale. */
export async function writeSheets(plan: Plan, folder: string, pictures: Pictures): Promise<void> {
  await replaceFile(join(folder, 'sheets.html'), renderTravellers({ plan, pictures }));
  await replaceFile(join(folder, 'contact-sheet.svg'), contactSheetSvg(plan));
}
