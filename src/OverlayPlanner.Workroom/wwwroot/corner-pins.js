// Four pins on a photograph: dragged, brought by a touch beside them, or moved by arrow keys. Photo pixels go to the page's
// own code, which draws them; nothing is kept here.
export function follow(picker, page) {
    const size = () => {
        const style = getComputedStyle(picker);
        return [Number(style.getPropertyValue("--w")), Number(style.getPropertyValue("--h"))];
    };
    const pins = () => [...picker.querySelectorAll(".pin")];
    let chosen = 0;
    let held = null;
    let waiting = null;

    const pixel = (event) => {
        const box = picker.getBoundingClientRect();
        const [w, h] = size();
        return [((event.clientX - box.left) / box.width) * w - 0.5, ((event.clientY - box.top) / box.height) * h - 0.5];
    };

    // One message a frame: the newest place is the only one that matters.
    const send = (n, x, y) => {
        if (waiting === null) {
            requestAnimationFrame(() => {
                const [m, a, b] = waiting;
                waiting = null;
                page.invokeMethodAsync("PinMoved", m, a, b);
            });
        }
        waiting = [n, x, y];
    };

    picker.addEventListener("pointerdown", (event) => {
        const pin = event.target.closest(".pin");
        chosen = pin ? Number(pin.dataset.n) : chosen;
        held = chosen;
        picker.setPointerCapture(event.pointerId);
        pins()[chosen].focus({ preventScroll: true });
        event.preventDefault();
        if (!pin) {
            send(held, ...pixel(event));
        }
    });
    picker.addEventListener("pointermove", (event) => {
        if (held !== null) {
            send(held, ...pixel(event));
        }
    });
    const drop = () => { held = null; };
    picker.addEventListener("pointerup", drop);
    picker.addEventListener("pointercancel", drop);
    picker.addEventListener("focusin", (event) => {
        const pin = event.target.closest(".pin");
        if (pin) {
            chosen = Number(pin.dataset.n);
        }
    });
    picker.addEventListener("keydown", (event) => {
        const pin = event.target.closest(".pin");
        const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
        const way = ways[event.key];
        if (!pin || !way) {
            return;
        }
        event.preventDefault();
        const [w, h] = size();
        const step = event.shiftKey ? Math.max(w, h) / 50 : event.altKey ? 0.25 : 2;
        const x = (parseFloat(pin.style.left) / 100) * w - 0.5;
        const y = (parseFloat(pin.style.top) / 100) * h - 0.5;
        page.invokeMethodAsync("PinMoved", Number(pin.dataset.n), x + way[0] * step, y + way[1] * step);
    });
    picker.dataset.ready = "yes";
}
