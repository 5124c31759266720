// A path drawn with pen, finger or mouse over a block. The ink is drawn here at once; its points go to the page's own code, two calls
// under way at most, the newest joined; the snapped line that comes back takes the ink's place. Nothing is reckoned here but pixels to inches.
const MOST = 400;
const UNDER_WAY = 2;
const PATIENCE = 2500;

export function start(board, page) {
    const drawing = board.querySelector("svg");
    const snapped = board.querySelector(".snapped");
    const ink = board.querySelector(".ink");
    const cut = board.parentElement.querySelector(".cut");
    const strokes = [];
    let held = null;
    let underWay = 0;
    let resting = false;
    let ended = false;
    let next = Date.now();

    // What of the strokes is not snapped yet: a few points, while the line is up. Drawn once a frame.
    let due = false;
    const show = () => {
        if (!due) {
            due = true;
            requestAnimationFrame(drawInk);
        }
    };
    const drawInk = () => {
        due = false;
        let way = "";
        for (const s of strokes) {
            for (let i = Math.max(0, s.taken - 1); i < s.points.length / 2; i++) {
                way += `${i === Math.max(0, s.taken - 1) ? "M" : "L"}${s.points[2 * i]} ${s.points[2 * i + 1]}`;
            }
        }
        ink.setAttribute("d", way);
    };

    // All points that the pen gave, also those between two frames.
    const take = (event) => {
        const all = event.getCoalescedEvents ? event.getCoalescedEvents() : [];
        for (const e of all.length ? all : [event]) {
            const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(held.toCloth);
            held.points.push(Math.round(p.x * 1e4) / 1e4, Math.round(p.y * 1e4) / 1e4);
            held.seen.push([e.clientX - held.left, e.clientY - held.top]);
        }
        show();
        send();
    };

    const late = (work) =>
        Promise.race([work, new Promise((_, no) => setTimeout(() => no(new Error("late")), PATIENCE))]);

    // One call waits for its answer while the next is on its way; the connection keeps their order.
    const send = async () => {
        if (underWay >= UNDER_WAY || resting || ended || strokes.length === 0) {
            return;
        }
        const stroke = strokes[0];
        const first = stroke.asked;
        const upTo = Math.min(stroke.points.length / 2, first + MOST);
        const lift = stroke.up && upTo === stroke.points.length / 2;
        if (stroke.lifted || (upTo === first && !lift)) {
            return;
        }
        underWay++;
        stroke.asked = upTo;
        stroke.lifted = lift;
        try {
            // Points sent twice after a cut are known by their number and taken once.
            const answer = await late(
                page.invokeMethodAsync("Pen", stroke.id, first, stroke.points.slice(2 * first, 2 * upTo), lift, lift && stroke.tap));
            cut.hidden = true;
            stroke.taken = Math.max(stroke.taken, answer.points);
            if (snapped.getAttribute("d") !== answer.way) {
                snapped.setAttribute("d", answer.way);
            }
            snapped.dataset.points = String(stroke.taken);
            if (answer.points < first) {
                stroke.asked = stroke.taken = answer.points;
                stroke.lifted = false;
            } else if (lift) {
                strokes.shift();
            }
            show();
        } catch {
            cut.hidden = false;
            resting = true;
            stroke.asked = stroke.taken;
            stroke.lifted = false;
            await new Promise((on) => setTimeout(on, 400));
            resting = false;
        } finally {
            underWay--;
        }
        send();
    };

    const down = (event) => {
        if (held || event.button > 0) {
            return;
        }
        event.preventDefault();
        board.focus({ preventScroll: true });
        board.setPointerCapture(event.pointerId);
        const box = board.getBoundingClientRect();
        held = {
            id: next++, pointer: event.pointerId, points: [], seen: [], asked: 0, taken: 0, up: false, lifted: false, tap: false,
            toCloth: drawing.getScreenCTM().inverse(), left: box.left, top: box.top, raw: false,
        };
        strokes.push(held);
        take(event);
    };
    // Raw updates come before the frame does; where the browser gives them, the moves that follow say the same once more.
    const move = (event) => {
        if (held && event.pointerId === held.pointer && (event.type === "pointerrawupdate" || !held.raw)) {
            held.raw ||= event.type === "pointerrawupdate";
            take(event);
        }
    };
    const up = (event) => {
        if (!held || event.pointerId !== held.pointer) {
            return;
        }
        const [x0, y0] = held.seen[0];
        held.tap = event.type === "pointerup" && held.seen.every(([x, y]) => Math.hypot(x - x0, y - y0) < 8);
        held.up = true;
        held = null;
        send();
    };
    const keys = new Set(["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Enter", " ", "Backspace", "Delete"]);
    const key = (event) => {
        if (event.target === board && keys.has(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey) {
            event.preventDefault();
            late(page.invokeMethodAsync("Key", event.key)).then(
                () => { cut.hidden = true; },
                () => { cut.hidden = false; });
        }
    };

    board.addEventListener("pointerdown", down);
    board.addEventListener("pointerrawupdate", move);
    board.addEventListener("pointermove", move);
    board.addEventListener("pointerup", up);
    board.addEventListener("pointercancel", up);
    board.addEventListener("keydown", key);
    board.dataset.ready = "true";
    return {
        stop: () => {
            ended = true;
        },
    };
}
