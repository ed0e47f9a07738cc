// Loaded for people only: a call with --json needs no words.
export { renderMeasure } from '@stonehand/report';
