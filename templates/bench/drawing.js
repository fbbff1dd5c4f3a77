// Canvases that know their size without being asked for it in the middle of a frame.

/** A canvas that fills its element, sharp on every screen. */
export class Drawing {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {() => void} resized called when its size has changed, and it is empty
   */
  constructor(canvas, resized) {
    this.canvas = canvas;
    /** In CSS pixels. */
    this.width = 0;
    this.height = 0;
    this.scale = 1;
    const pen = canvas.getContext("2d", { alpha: false, desynchronized: false });
    if (!pen) throw new Error("this browser draws nothing");
    this.pen = pen;
    this._resized = resized;
    const observer = new ResizeObserver((entries) => this._fit(entries[0]));
    try {
      observer.observe(canvas, { box: "device-pixel-content-box" });
    } catch {
      observer.observe(canvas); // a browser that does not tell whole pixels of the screen
    }
  }

  /** @param {ResizeObserverEntry} entry */
  _fit(entry) {
    this.scale = devicePixelRatio || 1;
    const exact = entry.devicePixelContentBoxSize?.[0];
    const box = entry.contentRect;
    this.canvas.width = Math.max(1, exact?.inlineSize ?? Math.round(box.width * this.scale));
    this.canvas.height = Math.max(1, exact?.blockSize ?? Math.round(box.height * this.scale));
    this.width = box.width ? this.canvas.width / this.scale : 0;
    this.height = box.height ? this.canvas.height / this.scale : 0;
    this.pen.setTransform(this.scale, 0, 0, this.scale, 0, 0);
    if (this.width && this.height) this._resized();
  }
}
