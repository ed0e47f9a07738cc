import { startLook } from './look.ts';
import { pageData } from './page-data.ts';
import { startTable } from './part-table.ts';

// The page is whole without this script; what it adds: choosing and sorting parts, and looking at each.
startTable();
startLook(pageData());
