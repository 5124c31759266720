// Paints the cloth and its seams. It runs in a worker wherever the browser lets a worker paint, so that neither tiles nor
// thousands of seams ever hold up a finger; else in the page itself. It knows inches and pixels, and no gesture.
const LIGHT = "#fffdf5";
const DARK = "#16182a";
const MOST_TILES = 90;
const MOST_FETCHES = 4;
const REST = 140;
const nextFrame = (work) => (globalThis.requestAnimationFrame ? globalThis.requestAnimationFrame(work) : setTimeout(work, 16));

export class Painter {
    constructor(canvas) {
        this.canvas = canvas;
        this.ctx = canvas.getContext("2d", { alpha: true, desynchronized: false });
        this.view = null;
        this.cells = [];
        this.marks = {};
        this.tiles = new Map();
        this.waiting = new Map();
        this.base = null;
        this.layer = null;
        this.layerView = null;
        this.asked = false;
        this.rest = 0;
    }

    tell(message) {
        switch (message.what) {
            case "cloth": this.setCloth(message.cloth); break;
            case "map": this.setMap(message.cells, message.dense); break;
            case "marks": this.marks = message.marks; break;
            case "view": this.setView(message.view); break;
            case "stop": this.stop(); return;
        }
        this.ask();
    }

    stop() {
        this.stopped = true;
        clearTimeout(this.rest);
        for (const one of this.waiting.values()) {
            one.abort();
        }
        for (const tile of this.tiles.values()) {
            tile.close();
        }
        this.base?.close();
    }

    ask() {
        if (!this.asked && !this.stopped) {
            this.asked = true;
            nextFrame(() => {
                this.asked = false;
                this.paint();
            });
        }
    }

    setView(view) {
        const old = this.view;
        this.view = view;
        if (!old || old.w !== view.w || old.h !== view.h || old.dpr !== view.dpr) {
            this.canvas.width = Math.max(1, Math.round(view.w * view.dpr));
            this.canvas.height = Math.max(1, Math.round(view.h * view.dpr));
            this.layer = null;
        }
        // While the view moves, the seams are the last drawing of them moved along; at rest they are drawn anew, sharp.
        clearTimeout(this.rest);
        this.rest = setTimeout(() => {
            if (this.layerView && this.layerView.k !== this.view.k) {
                this.layerView = null;
                this.ask();
            }
        }, REST);
    }

    setCloth(cloth) {
        if (this.cloth?.at === cloth.at) {
            return;
        }
        this.cloth = cloth;
        for (const tile of this.tiles.values()) {
            tile.close();
        }
        this.tiles.clear();
        this.loadBase(cloth);
    }

    // The whole cloth, small: seen until the tiles have come.
    async loadBase(cloth) {
        try {
            const answer = await fetch(cloth.overview);
            const wide = Math.min(1024, cloth.width);
            const bitmap = await createImageBitmap(await answer.blob(), { resizeWidth: wide, resizeQuality: "medium" });
            if (this.cloth === cloth && !this.stopped) {
                this.base?.close();
                this.base = bitmap;
                this.ask();
            } else {
                bitmap.close();
            }
        } catch {
            // Without it the tiles come alone.
        }
    }

    setMap(cells, dense) {
        this.cells = cells.map((c) => ({
            box: c.box,
            sure: new Path2D(c.sure),
            doubtful: c.doubtful ? new Path2D(c.doubtful) : null,
            dots: new Path2D(c.dots),
        }));
        this.dense = dense;
        this.layerView = null;
    }

    inches(ctx, view, left = 0, top = 0) {
        const k = view.k * view.dpr;
        ctx.setTransform(k, 0, 0, k, -view.x * k + left, -view.y * k + top);
    }

    paint() {
        if (!this.view || this.stopped) {
            return;
        }
        const { ctx, view } = this;
        ctx.setTransform(1, 0, 0, 1, 0, 0);
        ctx.clearRect(0, 0, this.canvas.width, this.canvas.height);
        this.paintCloth();
        this.paintSeams();
        this.paintMarks();
    }

    paintCloth() {
        const { ctx, view, cloth } = this;
        if (!cloth) {
            return;
        }
        const k = view.k * view.dpr;
        const perInch = cloth.width / cloth.inchesWide;
        const perInchDown = cloth.height / cloth.inchesHigh;
        const level = Math.max(0, Math.min(cloth.levels - 1, Math.floor(Math.log2(perInch / k) + 0.3)));
        const span = cloth.side * 2 ** level;
        const toX = (px) => Math.round((cloth.left + px / perInch - view.x) * k);
        const toY = (px) => Math.round((cloth.top + px / perInchDown - view.y) * k);
        const columns = Math.ceil(cloth.width / span);
        const rows = Math.ceil(cloth.height / span);
        const first = (inch, from, per) => Math.floor(((inch - from) * per) / span);
        const c0 = Math.max(0, first(view.x, cloth.left, perInch));
        const r0 = Math.max(0, first(view.y, cloth.top, perInchDown));
        const c1 = Math.min(columns - 1, first(view.x + view.w / view.k, cloth.left, perInch));
        const r1 = Math.min(rows - 1, first(view.y + view.h / view.k, cloth.top, perInchDown));
        const wanted = [];
        const gaps = [];
        ctx.imageSmoothingEnabled = true;
        ctx.imageSmoothingQuality = "low";
        for (let r = r0; r <= r1; r++) {
            for (let c = c0; c <= c1; c++) {
                const key = `${level}/${c}/${r}`;
                const x = c * span;
                const y = r * span;
                const box = [x, y, Math.min(x + span, cloth.width), Math.min(y + span, cloth.height)];
                const tile = this.tiles.get(key);
                if (tile) {
                    // Last used last: the first of the table is the one to let go.
                    this.tiles.delete(key);
                    this.tiles.set(key, tile);
                    ctx.drawImage(tile, toX(box[0]), toY(box[1]), toX(box[2]) - toX(box[0]), toY(box[3]) - toY(box[1]));
                } else {
                    gaps.push(box);
                    wanted.push({ key, far: Math.hypot(c - (c0 + c1) / 2, r - (r0 + r1) / 2) });
                }
            }
        }
        for (const box of gaps) {
            this.paintCoarser(box, level, toX, toY);
        }
        wanted.sort((a, b) => a.far - b.far);
        this.fetchTiles(wanted.map((w) => w.key));
    }

    // A tile that has not come is shown by the part of a coarser one that lies there.
    paintCoarser(box, level, toX, toY) {
        const { cloth, ctx } = this;
        const to = [toX(box[0]), toY(box[1]), toX(box[2]) - toX(box[0]), toY(box[3]) - toY(box[1])];
        for (let l = level + 1; l < cloth.levels; l++) {
            const span = cloth.side * 2 ** l;
            const c = Math.floor(box[0] / span);
            const r = Math.floor(box[1] / span);
            const tile = this.tiles.get(`${l}/${c}/${r}`);
            if (tile) {
                const s = 2 ** l;
                ctx.drawImage(tile, box[0] / s - c * cloth.side, box[1] / s - r * cloth.side, (box[2] - box[0]) / s, (box[3] - box[1]) / s, ...to);
                return;
            }
        }
        if (this.base) {
            const sx = this.base.width / cloth.width;
            const sy = this.base.height / cloth.height;
            ctx.drawImage(this.base, box[0] * sx, box[1] * sy, (box[2] - box[0]) * sx, (box[3] - box[1]) * sy, ...to);
        }
    }

    fetchTiles(keys) {
        const now = new Set(keys);
        for (const [key, one] of this.waiting) {
            if (!now.has(key)) {
                one.abort();
                this.waiting.delete(key);
            }
        }
        for (const key of keys) {
            if (this.waiting.size >= MOST_FETCHES) {
                break;
            }
            if (!this.waiting.has(key) && !this.lost?.has(key)) {
                this.fetchTile(key);
            }
        }
    }

    async fetchTile(key) {
        const cloth = this.cloth;
        const stop = new AbortController();
        this.waiting.set(key, stop);
        try {
            const answer = await fetch(`${cloth.tiles}/${key}?at=${cloth.at}`, { signal: stop.signal });
            if (!answer.ok) {
                throw new Error(String(answer.status));
            }
            const bitmap = await createImageBitmap(await answer.blob());
            if (this.cloth !== cloth || this.stopped) {
                bitmap.close();
                return;
            }
            this.tiles.set(key, bitmap);
            for (const old of this.tiles.keys()) {
                if (this.tiles.size <= MOST_TILES) {
                    break;
                }
                this.tiles.get(old).close();
                this.tiles.delete(old);
            }
        } catch {
            // Asked for in vain: not again and again in every frame; the coarser picture stands there.
            if (!stop.signal.aborted) {
                (this.lost ??= new Set()).add(key);
                setTimeout(() => { this.lost.delete(key); this.ask(); }, 3000);
            }
        } finally {
            if (this.waiting.get(key) === stop) {
                this.waiting.delete(key);
            }
            this.ask();
        }
    }

    paintSeams() {
        const { ctx, view } = this;
        if (this.cells.length === 0) {
            return;
        }
        const at = this.layerView;
        const grown = at ? view.k / at.k : 0;
        const covers =
            at && grown > 0.6 && grown < 1.7 &&
            view.x >= at.x && view.y >= at.y &&
            view.x + view.w / view.k <= at.x + at.w / at.k && view.y + view.h / view.k <= at.y + at.h / at.k;
        if (!covers) {
            this.drawLayer();
        }
        const l = this.layerView;
        const g = view.k / l.k;
        const k = view.k * view.dpr;
        const x = (l.x - view.x) * k;
        const y = (l.y - view.y) * k;
        ctx.setTransform(1, 0, 0, 1, 0, 0);
        if (g === 1) {
            ctx.drawImage(this.layer, Math.round(x), Math.round(y));
        } else {
            ctx.drawImage(this.layer, x, y, this.layer.width * g, this.layer.height * g);
        }
    }

    // The seams of a window that is half as large again as the view, once for many frames.
    drawLayer() {
        const { view } = this;
        const more = 0.25;
        const at = {
            k: view.k, dpr: view.dpr, w: view.w * (1 + 2 * more), h: view.h * (1 + 2 * more),
            x: view.x - (view.w * more) / view.k, y: view.y - (view.h * more) / view.k,
        };
        const w = Math.round(at.w * at.dpr);
        const h = Math.round(at.h * at.dpr);
        if (!this.layer || this.layer.width !== w || this.layer.height !== h) {
            this.layer = typeof OffscreenCanvas === "undefined" ? Object.assign(document.createElement("canvas"), { width: w, height: h }) : new OffscreenCanvas(w, h);
        }
        this.layerView = at;
        const ctx = this.layer.getContext("2d");
        ctx.setTransform(1, 0, 0, 1, 0, 0);
        ctx.clearRect(0, 0, w, h);
        this.inches(ctx, at);
        const px = 1 / at.k;
        const right = at.x + at.w / at.k;
        const bottom = at.y + at.h / at.k;
        const seen = this.cells.filter((c) => c.box[0] <= right && c.box[2] >= at.x && c.box[1] <= bottom && c.box[3] >= at.y);
        const thin = Math.max(1.1, Math.min(2, at.k * this.dense * 0.05));
        ctx.lineJoin = "round";
        ctx.lineCap = "butt";
        const stroke = (which, width, colour, dash) => {
            ctx.lineWidth = width * px;
            ctx.strokeStyle = colour;
            ctx.setLineDash(dash.map((d) => d * px));
            for (const cell of seen) {
                if (cell[which]) {
                    ctx.stroke(cell[which]);
                }
            }
        };
        stroke("sure", thin + 1.8, LIGHT, []);
        stroke("doubtful", thin + 2.6, LIGHT, []);
        stroke("sure", thin, DARK, []);
        stroke("doubtful", thin + 0.6, DARK, [7, 5]);
        // Dots closer than a few pixels would be one dark band.
        if (at.k * this.dense > 14) {
            ctx.lineCap = "round";
            stroke("dots", thin + 5.4, LIGHT, []);
            stroke("dots", thin + 3.2, DARK, []);
        }
    }

    paintMarks() {
        const { ctx, view, marks } = this;
        const px = 1 / view.k;
        this.inches(ctx, view);
        const both = (way, width, colour, dash = []) => {
            ctx.setLineDash([]);
            ctx.strokeStyle = LIGHT;
            ctx.lineWidth = (width + 4) * px;
            ctx.stroke(way);
            ctx.strokeStyle = colour;
            ctx.lineWidth = width * px;
            ctx.setLineDash(dash.map((d) => d * px));
            ctx.stroke(way);
            ctx.setLineDash([]);
        };
        const ring = (x, y, r, width, colour) => {
            const way = new Path2D();
            way.arc(x, y, r * px, 0, 7);
            both(way, width, colour);
        };
        ctx.lineJoin = "round";
        ctx.lineCap = "round";
        for (const [x, y] of marks.rings ?? []) {
            ring(x, y, 13, 1.6, DARK);
        }
        const chosen = marks.chosen;
        if (chosen?.way) {
            const way = new Path2D(chosen.way);
            if (chosen.kind === "Patch" || chosen.kind === "Block") {
                this.hatch(way, chosen.box);
            }
            both(way, chosen.kind === "Seam" ? 5 : 3.5, "#a83a06");
        } else if (chosen) {
            ring(chosen.x, chosen.y, 9, 3.5, "#a83a06");
        }
        if (marks.trial) {
            both(new Path2D(marks.trial), 3, DARK, [2, 6]);
        }
        if (marks.held) {
            ring(marks.held[0], marks.held[1], 9, 3.5, "#a83a06");
        }
        if (marks.cross) {
            const [x, y] = marks.cross;
            const way = new Path2D();
            for (const [a, b] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
                way.moveTo(x + a * 5 * px, y + b * 5 * px);
                way.lineTo(x + a * 22 * px, y + b * 22 * px);
            }
            both(way, 2, DARK);
        }
    }

    // Lines across, a fixed way apart on the screen, inside the outline only.
    hatch(way, box) {
        const { ctx, view } = this;
        const px = 1 / view.k;
        const left = Math.max(box[0], view.x);
        const top = Math.max(box[1], view.y);
        const right = Math.min(box[2], view.x + view.w * px);
        const bottom = Math.min(box[3], view.y + view.h * px);
        if (left >= right || top >= bottom) {
            return;
        }
        ctx.save();
        ctx.clip(way, "evenodd");
        const step = 12 * px;
        const lines = new Path2D();
        for (let s = Math.floor((left + top) / step) * step; s <= right + bottom; s += step) {
            lines.moveTo(s - top, top);
            lines.lineTo(s - bottom, bottom);
        }
        ctx.lineCap = "butt";
        ctx.strokeStyle = LIGHT;
        ctx.lineWidth = 3 * px;
        ctx.stroke(lines);
        ctx.strokeStyle = DARK;
        ctx.lineWidth = 1.3 * px;
        ctx.stroke(lines);
        ctx.restore();
    }
}

if (typeof WorkerGlobalScope !== "undefined" && globalThis instanceof WorkerGlobalScope) {
    let painter = null;
    globalThis.onmessage = ({ data }) => {
        if (data.what === "canvas") {
            painter = new Painter(data.canvas);
        } else {
            painter?.tell(data);
        }
        if (data.what === "stop") {
            globalThis.close();
        }
    };
}
