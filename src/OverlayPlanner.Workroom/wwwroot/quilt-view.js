// The cloth with its seams under a finger, a mouse or the keys. Pan and zoom stay in the browser; the page's own code hears
// only what was chosen or placed. Painting is done in quilt-paint.js, in a worker where the browser can.
const FINGER = 22;
const MOUSE = 11;
const DRAG = { mouse: 4, touch: 9, pen: 7 };
const DOUBLE = 320;
const CELLS = 10;

export function open(place, page, cloth) {
    return new View(place, page, cloth);
}

async function painterFor(canvas) {
    if (canvas.transferControlToOffscreen && globalThis.Worker) {
        const worker = new Worker(new URL("./quilt-paint.js", import.meta.url), { type: "module" });
        const off = canvas.transferControlToOffscreen();
        worker.postMessage({ what: "canvas", canvas: off }, [off]);
        return worker;
    }
    const { Painter } = await import("./quilt-paint.js");
    const painter = new Painter(canvas);
    return { postMessage: (message) => painter.tell(message) };
}

class View {
    constructor(place, page, cloth) {
        this.place = place;
        this.page = page;
        this.cloth = cloth;
        this.box = place.querySelector(".cloth");
        this.said = place.querySelector(".zoomed");
        this.pointers = new Map();
        this.handled = this.tool;
        this.state = { chosen: null, marked: [], trial: null };
        this.walk = null;
        this.soon = 0;
        this.map = null;
        this.view = null;
        this.asked = false;
        this.cross = null;
        this.held = null;
        this.lastTap = null;
        this.stops = new AbortController();
        this.early = [];
        painterFor(place.querySelector("canvas")).then((painter) => {
            this.painter = painter;
            for (const message of this.early) {
                painter.postMessage(message);
            }
            this.early = [];
        });
        this.tell({ what: "cloth", cloth });
        this.listen();
    }

    // As the page shows it: what the page says of a touch holds for the next touch, before anything else has come over the line.
    get tool() {
        return this.box.dataset.tool ?? "Look";
    }

    tell(message) {
        if (this.painter) {
            this.painter.postMessage(message);
        } else {
            this.early?.push(message);
        }
    }

    listen() {
        const on = (target, name, work, more = {}) => target.addEventListener(name, work, { signal: this.stops.signal, ...more });
        on(this.box, "pointerdown", (e) => this.down(e));
        on(this.box, "pointermove", (e) => this.moved(e));
        on(this.box, "pointerup", (e) => this.up(e));
        on(this.box, "pointercancel", (e) => this.lost(e));
        on(this.box, "wheel", (e) => this.wheel(e), { passive: false });
        on(this.box, "keydown", (e) => this.key(e));
        on(this.box, "focus", () => this.showCross());
        on(this.box, "blur", () => this.dropCross());
        on(this.place, "click", (e) => {
            const button = e.target.closest("[data-do]");
            if (button) {
                this.act(button.dataset.do);
            }
        });
        this.sizes = new ResizeObserver(() => this.sized());
        this.sizes.observe(this.box);
    }

    stop() {
        this.stops.abort();
        this.sizes.disconnect();
        this.tell({ what: "stop" });
    }

    // ---- what is shown ----

    setCloth(cloth) {
        this.cloth = cloth;
        this.tell({ what: "cloth", cloth });
        this.view = null;
        this.sized();
    }

    setMap(map) {
        this.map = map;
        this.index();
        this.tell({ what: "map", cells: this.paintCells(), dense: this.dense });
        this.setState(this.state);
        if (this.soon) {
            this.step(this.soon);
            this.soon = 0;
        }
    }

    setState(state) {
        this.state = state;
        if (this.walk?.kind === state.chosen?.kind && this.walk?.id === state.chosen?.id) {
            this.walk = null;
        }
        this.shown = null;
        if (this.handled !== this.tool) {
            this.handled = this.tool;
            this.held = null;
            this.cross = null;
            this.showCross();
        }
        this.marks();
    }

    // Seams by cells of the cloth: a view that shows a part of the quilt strokes that part alone.
    paintCells() {
        const { seams, points } = this.map;
        const cells = new Map();
        const cellOf = (x, y) => {
            const c = Math.min(CELLS - 1, Math.max(0, Math.floor(((x - this.grid.left) / this.grid.wide) * CELLS)));
            const r = Math.min(CELLS - 1, Math.max(0, Math.floor(((y - this.grid.top) / this.grid.high) * CELLS)));
            const key = r * CELLS + c;
            if (!cells.has(key)) {
                cells.set(key, { box: [Infinity, Infinity, -Infinity, -Infinity], sure: [], doubtful: [], dots: [] });
            }
            return cells.get(key);
        };
        for (const seam of seams) {
            const a = seam.along;
            const cell = cellOf((a[0] + a[a.length - 2]) / 2, (a[1] + a[a.length - 1]) / 2);
            (seam.isDoubtful ? cell.doubtful : cell.sure).push(seam.way);
            grow(cell.box, a);
        }
        for (const point of points) {
            const cell = cellOf(point.x, point.y);
            cell.dots.push(`M${point.x} ${point.y}h0.0004`);
            grow(cell.box, [point.x, point.y]);
        }
        return [...cells.values()].map((c) => ({ box: c.box, sure: c.sure.join(""), doubtful: c.doubtful.join(""), dots: c.dots.join("") }));
    }

    marks() {
        if (!this.map) {
            return;
        }
        const chosen = this.shown ?? this.state.chosen;
        const found = chosen && this.find(chosen);
        this.tell({
            what: "marks",
            marks: {
                chosen: found ? { kind: chosen.kind, way: found.way, box: found.box, x: found.x, y: found.y } : null,
                rings: (this.state.marked ?? []).map((m) => this.find(m)).filter(Boolean).map((f) => [f.x, f.y]),
                trial: this.state.trial,
                held: this.held?.at ?? null,
                cross: this.cross,
            },
        });
    }

    find({ kind, id }) {
        return this.parts[kind]?.get(id) ?? null;
    }

    // ---- what lies where ----

    index() {
        const { seams, points, patches, blocks } = this.map;
        const all = [Infinity, Infinity, -Infinity, -Infinity];
        for (const seam of seams) {
            grow(all, seam.along);
        }
        for (const p of points) {
            grow(all, [p.x, p.y]);
        }
        const c = this.cloth;
        if (!(all[0] < all[2])) {
            all.splice(0, 4, c.left, c.top, c.left + c.inchesWide, c.top + c.inchesHigh);
        }
        this.grid = { left: all[0], top: all[1], wide: Math.max(1e-6, all[2] - all[0]), high: Math.max(1e-6, all[3] - all[1]) };
        let long = 0;
        this.parts = { Seam: new Map(), Point: new Map(), Patch: new Map(), Block: new Map() };
        for (const s of seams) {
            const a = s.along;
            const n = a.length / 2;
            const middle = n === 2 ? [(a[0] + a[2]) / 2, (a[1] + a[3]) / 2] : [a[2 * (n >> 1)], a[2 * (n >> 1) + 1]];
            const box = [Infinity, Infinity, -Infinity, -Infinity];
            grow(box, a);
            long += Math.hypot(a[0] - a[a.length - 2], a[1] - a[a.length - 1]);
            this.parts.Seam.set(s.id, { kind: "Seam", id: s.id, way: s.way, along: a, box, x: middle[0], y: middle[1] });
        }
        // A seam's usual length, inches: how much room there is for its line and its dots.
        this.dense = seams.length ? long / seams.length : 1;
        for (const p of points) {
            this.parts.Point.set(p.id, { kind: "Point", id: p.id, x: p.x, y: p.y, box: [p.x, p.y, p.x, p.y] });
        }
        for (const [kind, areas] of [["Patch", patches], ["Block", blocks]]) {
            for (const a of areas) {
                this.parts[kind].set(a.id, { kind, id: a.id, way: a.way, box: a.box, seams: a.seams, x: (a.box[0] + a.box[2]) / 2, y: (a.box[1] + a.box[3]) / 2 });
            }
        }
        // A grid of cells about a seam long: a tap looks at a handful of parts, whatever the quilt's size.
        const n = Math.min(128, Math.max(1, Math.round(Math.sqrt(seams.length))));
        this.near = { n, cells: new Map() };
        for (const kind of ["Point", "Seam", "Patch"]) {
            for (const part of this.parts[kind].values()) {
                this.eachCell(part.box, (key) => {
                    if (!this.near.cells.has(key)) {
                        this.near.cells.set(key, []);
                    }
                    this.near.cells.get(key).push(part);
                });
            }
        }
        this.orders = {};
    }

    eachCell(box, work) {
        const { n } = this.near;
        const at = (v, from, size) => Math.min(n - 1, Math.max(0, Math.floor(((v - from) / size) * n)));
        const c1 = at(box[2], this.grid.left, this.grid.wide);
        const r1 = at(box[3], this.grid.top, this.grid.high);
        for (let r = at(box[1], this.grid.top, this.grid.high); r <= r1; r++) {
            for (let c = at(box[0], this.grid.left, this.grid.wide); c <= c1; c++) {
                work(r * n + c);
            }
        }
    }

    // The point within reach, else the nearest seam within reach, else the patch that lies there.
    partAt(x, y, reach) {
        if (!this.map) {
            return null;
        }
        const far = reach / this.view.k;
        const seen = new Set();
        const best = { Point: [far, null], Seam: [far, null] };
        let patch = null;
        this.eachCell([x - far, y - far, x + far, y + far], (key) => {
            for (const part of this.near.cells.get(key) ?? []) {
                if (seen.has(part)) {
                    continue;
                }
                seen.add(part);
                if (part.kind === "Patch") {
                    patch ??= this.isInside(part, x, y) ? part : null;
                } else {
                    const d = part.kind === "Point" ? Math.hypot(part.x - x, part.y - y) : awayFrom(part.along, x, y);
                    if (d <= best[part.kind][0]) {
                        best[part.kind] = [d, part];
                    }
                }
            }
        });
        // Where a seam is short on the screen, the reach of its two points must leave its middle to the seam.
        let [away, point] = best.Point;
        const [near, seam] = best.Seam;
        if (point && seam) {
            const a = seam.along;
            const span = Math.hypot(a[0] - a[a.length - 2], a[1] - a[a.length - 1]);
            point = away <= Math.max(span * 0.3, near) ? point : null;
        }
        // And where a patch is small, its middle belongs to the patch.
        const small = patch && Math.min(patch.box[2] - patch.box[0], patch.box[3] - patch.box[1]);
        const line = seam && (!patch || near <= Math.max(small * 0.25, 3 / this.view.k)) ? seam : null;
        return point ?? line ?? patch;
    }

    isInside(patch, x, y) {
        if (x < patch.box[0] || x > patch.box[2] || y < patch.box[1] || y > patch.box[3]) {
            return false;
        }
        let inside = false;
        for (const i of patch.seams) {
            const a = this.map.seams[i].along;
            for (let j = 0; j + 3 < a.length; j += 2) {
                if ((a[j + 1] > y) !== (a[j + 3] > y) && x < a[j] + ((y - a[j + 1]) / (a[j + 3] - a[j + 1])) * (a[j + 2] - a[j])) {
                    inside = !inside;
                }
            }
        }
        return inside;
    }

    // ---- the window on the cloth ----

    sized() {
        const w = this.box.clientWidth;
        const h = this.box.clientHeight;
        if (w === 0 || h === 0) {
            return;
        }
        const fit = Math.min(w / this.cloth.inchesWide, h / this.cloth.inchesHigh);
        const perInch = this.cloth.width / this.cloth.inchesWide;
        const was = this.view;
        this.least = fit * 0.8;
        this.most = Math.max(fit * 8, perInch * 3);
        if (!was || was.whole) {
            this.view = { w, h, k: fit };
            this.whole();
        } else {
            const x = was.x + was.w / was.k / 2;
            const y = was.y + was.h / was.k / 2;
            this.view = { ...was, w, h };
            this.center(x, y, was.k);
        }
    }

    whole() {
        const { w, h } = this.view;
        const c = this.cloth;
        const k = Math.min(w / c.inchesWide, h / c.inchesHigh);
        this.view = { w, h, k, x: c.left + c.inchesWide / 2 - w / k / 2, y: c.top + c.inchesHigh / 2 - h / k / 2, whole: true };
        this.changed();
    }

    center(x, y, k) {
        const { w, h } = this.view;
        const kept = Math.min(this.most, Math.max(this.least, k));
        this.view = { w, h, k: kept, x: x - w / kept / 2, y: y - h / kept / 2 };
        this.changed();
    }

    // Zooms so that what lies at a place of the screen stays there.
    zoom(times, sx, sy) {
        const v = this.view;
        const k = Math.min(this.most, Math.max(this.least, v.k * times));
        this.view = { w: v.w, h: v.h, k, x: v.x + sx / v.k - sx / k, y: v.y + sy / v.k - sy / k };
        this.changed();
    }

    pan(dx, dy) {
        const v = this.view;
        this.view = { w: v.w, h: v.h, k: v.k, x: v.x - dx / v.k, y: v.y - dy / v.k };
        this.changed();
    }

    // The cloth never leaves the window: its middle third, or what the window holds of it, stays in.
    changed() {
        const v = this.view;
        const c = this.cloth;
        const keep = (at, span, from, size) => Math.min(from + size - Math.min(span, size) * 0.3, Math.max(from - span + Math.min(span, size) * 0.3, at));
        v.x = keep(v.x, v.w / v.k, c.left, c.inchesWide);
        v.y = keep(v.y, v.h / v.k, c.top, c.inchesHigh);
        if (!this.asked) {
            this.asked = true;
            requestAnimationFrame(() => {
                this.asked = false;
                const { x, y, k, w, h } = this.view;
                this.tell({ what: "view", view: { x, y, k, w, h, dpr: Math.min(2, globalThis.devicePixelRatio || 1) } });
            });
        }
    }

    spot(event) {
        const box = this.box.getBoundingClientRect();
        return [event.clientX - box.left - this.box.clientLeft, event.clientY - box.top - this.box.clientTop];
    }

    toCloth(sx, sy) {
        return [this.view.x + sx / this.view.k, this.view.y + sy / this.view.k];
    }

    // ---- gestures ----

    down(event) {
        if (event.button !== 0 || !this.view) {
            return;
        }
        this.box.setPointerCapture(event.pointerId);
        this.box.focus({ preventScroll: true });
        this.dropCross();
        const [x, y] = this.spot(event);
        this.pointers.set(event.pointerId, { x, y, fromX: x, fromY: y, kind: event.pointerType, still: true });
        if (this.pointers.size > 1) {
            for (const p of this.pointers.values()) {
                p.still = false;
            }
            this.held = null;
            this.marks();
        } else if (this.tool === "Move") {
            this.grab(x, y, event.pointerType);
        }
        event.preventDefault();
    }

    grab(x, y, kind) {
        const chosen = this.state.chosen;
        const point = chosen?.kind === "Point" ? this.find(chosen) : null;
        if (point) {
            const [cx, cy] = this.toCloth(x, y);
            if (Math.hypot(point.x - cx, point.y - cy) * this.view.k <= (kind === "mouse" ? MOUSE : FINGER)) {
                // The point keeps its distance from the finger, which would hide it.
                this.held = { id: point.id, at: [point.x, point.y], off: [point.x - cx, point.y - cy] };
            }
        }
    }

    moved(event) {
        const p = this.pointers.get(event.pointerId);
        if (!p) {
            return;
        }
        const [x, y] = this.spot(event);
        if (this.pointers.size === 2) {
            const other = [...this.pointers.values()].find((q) => q !== p);
            const before = Math.hypot(p.x - other.x, p.y - other.y);
            const after = Math.hypot(x - other.x, y - other.y);
            const mx = (p.x + other.x) / 2;
            const my = (p.y + other.y) / 2;
            this.pan((x - p.x) / 2, (y - p.y) / 2);
            if (before > 4 && after > 4) {
                this.zoom(after / before, mx + (x - p.x) / 2, my + (y - p.y) / 2);
            }
        } else if (this.pointers.size === 1) {
            p.still &&= Math.hypot(x - p.fromX, y - p.fromY) < (DRAG[p.kind] ?? 6);
            if (!p.still && this.held) {
                const [cx, cy] = this.toCloth(x, y);
                this.held.at = [cx + this.held.off[0], cy + this.held.off[1]];
                this.marks();
            } else if (!p.still) {
                this.pan(x - p.x, y - p.y);
            }
        }
        p.x = x;
        p.y = y;
    }

    up(event) {
        const p = this.pointers.get(event.pointerId);
        this.pointers.delete(event.pointerId);
        if (!p) {
            return;
        }
        const held = this.held;
        this.held = null;
        if (p.still) {
            this.tap(p);
        } else if (held) {
            this.page.invokeMethodAsync("Moved", held.id, ...held.at);
        }
        this.marks();
    }

    lost(event) {
        this.pointers.delete(event.pointerId);
        this.held = null;
        this.marks();
    }

    tap(p) {
        const [x, y] = this.toCloth(p.x, p.y);
        const reach = p.kind === "mouse" ? MOUSE : FINGER;
        if (this.tool === "Place") {
            this.page.invokeMethodAsync("Placed", x, y);
            return;
        }
        const now = performance.now();
        const again = this.tool === "Look" && this.lastTap && now - this.lastTap.at < DOUBLE && Math.hypot(p.x - this.lastTap.x, p.y - this.lastTap.y) < 30;
        this.lastTap = again ? null : { at: now, x: p.x, y: p.y };
        if (again) {
            this.zoom(2, p.x, p.y);
            this.say();
            return;
        }
        this.choose(x, y, reach);
    }

    choose(x, y, reach) {
        const part = this.partAt(x, y, reach);
        const chosen = this.state.chosen;
        this.walk = null;
        if (this.tool === "Move" && chosen?.kind === "Point" && part?.kind !== "Point") {
            // Without a drag: the point goes where the tap was.
            this.page.invokeMethodAsync("Moved", chosen.id, x, y);
            return;
        }
        this.page.invokeMethodAsync("Chose", part?.kind ?? null, part?.id ?? null);
    }

    wheel(event) {
        if (!this.view) {
            return;
        }
        event.preventDefault();
        const lines = event.deltaMode === 1 ? 16 : event.deltaMode === 2 ? 400 : 1;
        const turn = Math.max(-240, Math.min(240, event.deltaY * lines));
        this.zoom(Math.exp(-turn * (event.ctrlKey ? 0.01 : 0.002)), ...this.spot(event));
    }

    // ---- keys and buttons ----

    key(event) {
        if (event.target !== this.box || event.ctrlKey || event.metaKey || !this.view) {
            return;
        }
        const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
        const acts = { "+": "in", "=": "in", "-": "out", "0": "whole", n: "next", p: "previous" };
        const way = ways[event.key];
        if (way && this.cross) {
            const step = event.shiftKey ? 60 : event.altKey ? 1 : 8;
            this.moveCross(way[0] * step, way[1] * step);
        } else if (way) {
            this.pan(-way[0] * 80, -way[1] * 80);
        } else if (acts[event.key.toLowerCase()] && !event.altKey) {
            this.act(acts[event.key.toLowerCase()]);
        } else if (event.key === "Enter" || event.key === " ") {
            this.set();
        } else if (event.key === "Escape" && this.tool === "Look" && (this.walk || this.state.chosen)) {
            this.walk = null;
            this.page.invokeMethodAsync("Chose", null, null);
        } else {
            return;
        }
        event.preventDefault();
    }

    set() {
        const [x, y] = this.cross ?? this.toCloth(this.view.w / 2, this.view.h / 2);
        const chosen = this.state.chosen;
        if (this.tool === "Place") {
            this.page.invokeMethodAsync("Placed", x, y);
        } else if (this.tool === "Move" && chosen?.kind === "Point") {
            this.page.invokeMethodAsync("Moved", chosen.id, x, y);
        } else {
            this.choose(x, y, FINGER);
        }
    }

    act(what) {
        if (!this.view) {
            return;
        }
        const { w, h } = this.view;
        switch (what) {
            case "in": this.zoom(1.5, w / 2, h / 2); this.say(); break;
            case "out": this.zoom(1 / 1.5, w / 2, h / 2); this.say(); break;
            case "whole": this.whole(); this.say(); break;
            case "left": this.pan(w / 4, 0); break;
            case "right": this.pan(-w / 4, 0); break;
            case "up": this.pan(0, h / 4); break;
            case "down": this.pan(0, -h / 4); break;
            case "next": this.step(1); break;
            case "previous": this.step(-1); break;
        }
    }

    say() {
        const whole = Math.min(this.view.w / this.cloth.inchesWide, this.view.h / this.cloth.inchesHigh);
        this.said.textContent = this.view.whole ? "The whole quilt" : `${(this.view.k / whole).toFixed(1)} times the whole`;
    }

    // From part to part of one kind, in rows from the top as one reads.
    step(by) {
        const kind = this.place.querySelector("select.kind")?.value ?? "Seam";
        if (!this.map) {
            // The seams are on their way: the step is made when they are here.
            this.soon = by;
            return;
        }
        if (this.parts[kind].size === 0) {
            this.said.textContent = "There are none of these";
            return;
        }
        const row = Math.max(0.25, this.dense / 2);
        this.orders[kind] ??= [...this.parts[kind].values()].sort((a, b) => Math.floor(a.y / row) - Math.floor(b.y / row) || a.x - b.x);
        const order = this.orders[kind];
        const chosen = this.walk?.until > performance.now() ? this.walk : this.state.chosen;
        const at = chosen?.kind === kind ? order.findIndex((p) => p.id === chosen.id) : by > 0 ? -1 : order.length;
        const part = order[(at + by + order.length) % order.length];
        this.bring(part);
        // The next step goes on from here, even if it comes before the page has answered.
        this.walk = { kind: part.kind, id: part.id, until: performance.now() + 2000 };
        this.page.invokeMethodAsync("Chose", part.kind, part.id);
    }

    // A part that is out of the window, or too small in it, is brought in.
    bring(part) {
        const v = this.view;
        const [l, t, r, b] = part.box;
        const size = Math.max(r - l, b - t) * v.k;
        const in1 = l > v.x && r < v.x + v.w / v.k && t > v.y && b < v.y + v.h / v.k;
        if (!in1 || (size > 0 && size < 24)) {
            this.show(part.kind, part.id);
        }
    }

    show(kind, id) {
        const part = this.map && this.find({ kind, id });
        if (!part || !this.view) {
            return;
        }
        const [l, t, r, b] = part.box;
        const { w, h } = this.view;
        const around = Math.max(this.dense * 2, 1);
        const k = Math.min(w / Math.max((r - l) * 2.2, around * 2), h / Math.max((b - t) * 2.2, around * 2));
        this.shown = { kind, id };
        this.center(part.x, part.y, k);
        this.marks();
    }

    // The cross is for keys only: it comes where the arrows are to move it.
    showCross() {
        const wanted = this.tool !== "Look" && document.activeElement === this.box && this.box.matches(":focus-visible") && this.view;
        if (wanted && !this.cross) {
            const chosen = this.tool === "Move" && this.state.chosen ? this.find(this.state.chosen) : null;
            this.cross = chosen ? [chosen.x, chosen.y] : this.toCloth(this.view.w / 2, this.view.h / 2);
            this.marks();
        }
    }

    dropCross() {
        if (this.cross) {
            this.cross = null;
            this.marks();
        }
    }

    moveCross(dx, dy) {
        const c = this.cloth;
        this.cross = [
            Math.min(c.left + c.inchesWide, Math.max(c.left, this.cross[0] + dx / this.view.k)),
            Math.min(c.top + c.inchesHigh, Math.max(c.top, this.cross[1] + dy / this.view.k)),
        ];
        const sx = (this.cross[0] - this.view.x) * this.view.k;
        const sy = (this.cross[1] - this.view.y) * this.view.k;
        const rim = 40;
        this.pan(sx < rim ? rim - sx : sx > this.view.w - rim ? this.view.w - rim - sx : 0, sy < rim ? rim - sy : sy > this.view.h - rim ? this.view.h - rim - sy : 0);
        this.marks();
        // Its place is told when the keys rest, not at each step.
        clearTimeout(this.telling);
        this.telling = setTimeout(() => this.cross && this.page.invokeMethodAsync("Pointed", ...this.cross), 350);
    }
}

function grow(box, along) {
    for (let i = 0; i + 1 < along.length; i += 2) {
        box[0] = Math.min(box[0], along[i]);
        box[1] = Math.min(box[1], along[i + 1]);
        box[2] = Math.max(box[2], along[i]);
        box[3] = Math.max(box[3], along[i + 1]);
    }
}

function awayFrom(along, x, y) {
    let best = Infinity;
    for (let i = 0; i + 3 < along.length; i += 2) {
        const dx = along[i + 2] - along[i];
        const dy = along[i + 3] - along[i + 1];
        const dd = dx * dx + dy * dy;
        const t = dd === 0 ? 0 : Math.max(0, Math.min(1, ((x - along[i]) * dx + (y - along[i + 1]) * dy) / dd));
        best = Math.min(best, Math.hypot(x - along[i] - t * dx, y - along[i + 1] - t * dy));
    }
    return best;
}
