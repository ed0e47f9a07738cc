import type { PieceView } from '@stonehand/report';
import type { LayerView } from '../layer-bytes.ts';
import type { Quantity } from './bead-geometry.ts';
import { type LayerChart, layerChart } from './layer-chart.ts';
import type { PageData } from './page-data.ts';
import { type From, PieceScene } from './scene.ts';

/** The panel in which one piece is looked at. It opens by address (`#look=heron/head/skull`), so every piece has a link of its own. */
export function startLook(data: PageData): void {
  const panel = document.querySelector<HTMLDialogElement>('dialog#look');
  if (panel === null || data.pieces.length === 0) return;
  const look = new Look(panel, data);
  const follow = (): void => {
    const asked = /^#look=(.*)$/.exec(location.hash)?.[1];
    const at = asked === undefined ? -1 : data.pieces.findIndex(({ id }) => id === decodeURIComponent(asked));
    if (at >= 0) look.open(at);
    else look.close();
  };
  addEventListener('hashchange', follow);
  for (const picture of document.querySelectorAll<HTMLImageElement>('#part-table img.pic')) {
    const id = picture.closest('tr')?.dataset['piece'];
    if (id === undefined) continue;
    picture.classList.add('opens');
    picture.addEventListener('click', () => {
      location.hash = `look=${encodeURIComponent(id)}`;
    });
  }
  follow();
}

class Look {
  private readonly panel: HTMLDialogElement;
  private readonly data: PageData;
  private scene: PieceScene | undefined;
  private at = 0;
  private layers: readonly LayerView[] = [];
  private chart: LayerChart | undefined;

  constructor(panel: HTMLDialogElement, data: PageData) {
    this.panel = panel;
    this.data = data;
    panel.addEventListener('close', () => {
      if (location.hash.startsWith('#look=')) history.replaceState(null, '', '#parts');
    });
    panel.addEventListener('click', (event) => this.onClick(event));
    this.control('overhang').addEventListener('input', () => this.scene?.colour(this.overhang()));
    this.control('layer').addEventListener('input', () => this.toLayer(Number(this.control('layer').value)));
    for (const name of ['quantity', 'travel'])
      this.control(name).addEventListener('input', () => this.toLayer(Number(this.control('layer').value)));
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
      if (panel.open) this.open(this.at);
    });
  }

  open(at: number): void {
    this.at = at;
    const piece = this.data.pieces[at]!;
    this.find('#look-title').textContent = piece.name;
    this.find('.about').replaceChildren(this.data.about(piece.id) ?? '');
    if (!this.panel.open) this.panel.showModal();
    this.panel.scrollTop = 0;
    this.output('limit').textContent = `${piece.overhangFromVerticalDeg}°`;
    const seen = this.draw(piece);
    this.find('.layers').hidden = piece.layers === undefined;
    if (piece.layers !== undefined) this.showLayers(piece, piece.layers, seen);
  }

  close(): void {
    if (this.panel.open) this.panel.close();
  }

  /** True where the piece could be drawn; else its picture or a word stands there. */
  private draw(piece: PieceView): boolean {
    const canvas = this.find<HTMLCanvasElement>('canvas');
    const nothing = this.find('.nothing');
    const shape = this.data.shape(piece.id);
    const why = shape === undefined ? 'This page carries no shape of this piece.' : this.makeScene(canvas);
    const seen = why === '' && shape !== undefined;
    canvas.hidden = !seen;
    for (const row of this.panel.querySelectorAll<HTMLElement>('.stage .ways, .stage .keys')) row.hidden = !seen;
    nothing.hidden = seen;
    canvas.setAttribute('aria-label', `${piece.name} on the plate in 3D; arrow keys turn, + and − come nearer`);
    if (seen) this.scene!.show(piece, shape, this.overhang());
    else {
      const picture = this.data.picture(piece.id);
      const image = new Image();
      image.alt = piece.name;
      if (picture !== undefined) image.src = picture;
      nothing.replaceChildren(why, ...(picture === undefined ? [] : [document.createElement('br'), image]));
    }
    return seen;
  }

  private makeScene(canvas: HTMLCanvasElement): string {
    if (this.scene !== undefined) return '';
    try {
      this.scene = new PieceScene(canvas);
      return '';
    } catch {
      return 'This browser draws no 3D here.';
    }
  }

  private showLayers(piece: PieceView, layers: NonNullable<PieceView['layers']>, seen: boolean): void {
    this.layers = seen ? this.data.layers(piece.id) : [];
    const slider = this.control('layer') as HTMLInputElement;
    slider.max = String(layers.s.length - 1);
    slider.value = slider.max;
    this.chart = layerChart(
      layers,
      this.layers.map(({ layer }) => layer),
      (layer) => {
        slider.value = String(layer);
        this.toLayer(layer);
      },
    );
    this.find('.chart').replaceChildren(this.chart.element);
    this.find('.bead').hidden = this.layers.length === 0;
    this.toLayer(layers.s.length - 1);
  }

  /** Cuts the piece at a layer's top and shows the beads of the nearest layer that the page carries. */
  private toLayer(layer: number): void {
    const layers = this.data.pieces[this.at]!.layers!;
    const topMm = layers.firstMm + layer * layers.stepMm;
    const last = layer === layers.s.length - 1;
    const near = this.layers.reduce<LayerView | undefined>(
      (best, one) => (best === undefined || Math.abs(one.layer - layer) < Math.abs(best.layer - layer) ? one : best),
      undefined,
    );
    this.chart?.mark(layer);
    const beads = last ? undefined : near;
    this.scene?.cutAt(last ? undefined : beads === undefined ? topMm : beads.topMm - beads.heightMm);
    const quantity = this.control('quantity').value as Quantity;
    const [least, most] = this.scene?.beads(beads, quantity, (this.control('travel') as HTMLInputElement).checked) ?? [
      0, 0,
    ];
    const unit = quantity === 'speed' ? 'mm/s' : 's';
    this.output('least').textContent = beads === undefined ? '' : `${Number(least.toPrecision(2))}`;
    this.output('most').textContent = beads === undefined ? '' : `${Number(most.toPrecision(2))} ${unit}`;
    const which = beads === undefined ? '' : `; beads of layer ${beads.layer + 1}`;
    const says = `layer ${layer + 1} of ${layers.s.length}, top at ${topMm.toFixed(2)} mm, ${layers.s[layer]} s, ${layers.g[layer]} g${which}`;
    this.output('layer-says').textContent = says;
    this.control('layer').setAttribute('aria-valuetext', says);
  }

  private onClick(event: MouseEvent): void {
    if (event.target === this.panel) this.panel.close(); // the backdrop
    const element = event.target as HTMLElement;
    const link = element.closest<HTMLAnchorElement>('.about a[href^="#"]');
    if (link !== null) this.panel.close();
    const button = element.closest('button');
    if (button === null) return;
    const { step, from, pose, mark } = button.dataset;
    if (button.dataset['close'] !== undefined) this.panel.close();
    if (step !== undefined) {
      const count = this.data.pieces.length;
      const next = this.data.pieces[(this.at + Number(step) + count) % count]!;
      location.replace(`#look=${encodeURIComponent(next.id)}`);
    }
    if (from !== undefined) this.scene?.look(from as From);
    if (mark !== undefined) this.scene?.lookAtMark(Number(mark));
    if (pose !== undefined) this.turnTo(Number(pose));
  }

  /** Layers belong to the planned pose only. */
  private turnTo(pose: number): void {
    for (const button of this.panel.querySelectorAll<HTMLElement>('[data-pose]'))
      button.ariaPressed = String(button.dataset['pose'] === String(pose));
    this.scene?.lie(pose, this.overhang());
    this.scene?.look('corner');
    this.find('.layers').hidden = pose !== 0 || this.data.pieces[this.at]!.layers === undefined;
    if (pose === 0 && this.data.pieces[this.at]!.layers !== undefined)
      this.toLayer(Number(this.control('layer').value));
  }

  private overhang(): boolean {
    return (this.control('overhang') as HTMLInputElement).checked;
  }

  private control(name: string): HTMLInputElement | HTMLSelectElement {
    return this.find<HTMLInputElement>(`[name="${name}"]`);
  }

  private output(name: string): HTMLElement {
    return this.find(`output[name="${name}"]`);
  }

  private find<E extends HTMLElement = HTMLElement>(selector: string): E {
    return this.panel.querySelector<E>(selector)!;
  }
}
