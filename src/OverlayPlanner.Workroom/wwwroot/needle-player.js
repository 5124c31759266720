// Shows the needle on its way: lines grow as they are stitched. Only drawing; every length comes from the page.
const players = new WeakMap();

export function leave(root) {
    players.get(root)?.abort();
    players.delete(root);
}

export function follow(root) {
    leave(root);
    const ended = new AbortController();
    players.set(root, ended);
    const on = (target, what, run) => target.addEventListener(what, run, { signal: ended.signal });
    const find = name => root.querySelector(name);
    const steps = [...root.querySelectorAll("path.step")];
    const inches = steps.map(s => Number(s.dataset.inches));
    const drawn = steps.map(s => s.getTotalLength());
    const ends = [];
    inches.reduce((sum, x, i) => (ends[i] = sum + x), 0);
    const total = ends.at(-1) ?? 0;
    const real = Number(root.dataset.speed);
    const [needle, now, heard, place, speed, pace] = [".needle", ".now", ".heard", ".place", ".speed", ".pace"].map(find);
    const still = matchMedia("(prefers-reduced-motion: reduce)");
    let at = 0, way = 0, last = null, said = -1, rested = 0, waiting = 0;

    const begin = i => (i === 0 ? 0 : ends[i - 1]);
    const moveAt = x => Math.max(0, ends.findIndex(e => x < e - 1e-9) + 1 || steps.length) - 1;
    const times = () => 2 ** Number(speed.value);

    function draw() {
        const i = Math.max(0, moveAt(at));
        steps.forEach((s, k) => {
            const part = Math.min(1, Math.max(0, (at - begin(k)) / (inches[k] || 1)));
            s.style.visibility = part > 0 ? "visible" : "hidden";
            s.style.strokeDasharray = part < 1 ? `${part * drawn[k]} ${drawn[k] + 1}` : "none";
        });
        const part = Math.min(1, Math.max(0, (at - begin(i)) / (inches[i] || 1)));
        const p = steps[i].getPointAtLength(part * drawn[i]);
        needle.setAttribute("transform", `translate(${p.x} ${p.y})`);
        root.dataset.at = at.toFixed(4);
        place.value = total > 0 ? Math.round((at / total) * 1000) : 0;
        place.setAttribute("aria-valuetext", `step ${i + 1} of ${steps.length}`);
        if (said !== i) {
            said = i;
            const s = steps[i].dataset;
            now.textContent = `Step ${i + 1} of ${steps.length}: ${s.start === "yes" ? "start a thread here. " : ""}${s.words}`;
        }
    }

    // While the needle runs only the eye follows; what is heard is where it stands still.
    function tell() {
        heard.textContent = way === 0 ? now.textContent : "";
    }

    function go(x) {
        at = Math.min(total, Math.max(0, x));
        draw();
    }

    function run(which) {
        way = which;
        last = null;
        rested = 0;
        if (way > 0 && at >= total) { at = 0; }
        if (way < 0 && at <= 0) { at = total; }
        for (const [name, sign, words] of [["play", 1, "Play"], ["reverse", -1, "Play backwards"]]) {
            const key = find(`[data-do=${name}]`);
            key.textContent = way === sign ? "Pause" : words;
        }
        tell();
        cancelAnimationFrame(waiting);
        if (way !== 0) { waiting = requestAnimationFrame(frame); }
    }

    const stepOn = () => go(Math.max(0, moveAt(at)) < steps.length ? ends[Math.max(0, moveAt(at))] : total);
    function stepBack() {
        const i = ends.findIndex(e => at <= e + 1e-9);
        go(begin(i < 0 ? steps.length - 1 : i));
    }

    function frame(time) {
        if (way === 0 || ended.signal.aborted) { return; }
        const passed = last === null ? 0 : Math.min(0.25, (time - last) / 1000);
        last = time;
        if (still.matches) {
            // Who asked for no motion sees whole steps, each for as long as it takes to read.
            rested += passed;
            if (rested >= Math.max(0.15, 1.2 / times())) {
                rested = 0;
                (way > 0 ? stepOn : stepBack)();
            }
        } else {
            go(at + way * passed * real * times());
        }
        if ((way > 0 && at >= total) || (way < 0 && at <= 0)) { run(0); } else { waiting = requestAnimationFrame(frame); }
    }

    const actions = {
        play: () => run(way === 1 ? 0 : 1),
        reverse: () => run(way === -1 ? 0 : -1),
        forward: () => stand(stepOn),
        back: () => stand(stepBack),
        first: () => stand(() => go(0)),
        last: () => stand(() => go(total)),
        faster: () => quicken(1),
        slower: () => quicken(-1),
    };
    function stand(move) {
        if (way !== 0) { run(0); }
        move();
        tell();
    }
    function quicken(by) {
        if (by > 0) { speed.stepUp(); } else { speed.stepDown(); }
        say();
    }
    for (const key of root.querySelectorAll("[data-do]")) {
        on(key, "click", () => actions[key.dataset.do]());
    }
    // The slider says its own place.
    on(place, "input", () => {
        if (way !== 0) { run(0); }
        go((Number(place.value) / 1000) * total);
    });
    const say = () => {
        pace.textContent = times() === 1 ? "the usual" : `${Number(times().toFixed(2))} times the usual`;
        speed.setAttribute("aria-valuetext", pace.textContent);
    };
    on(speed, "input", say);
    on(root, "keydown", e => {
        const keys = { ArrowRight: "forward", ArrowLeft: "back", Home: "first", End: "last", "+": "faster", "-": "slower" };
        const name = e.key === " " ? (e.shiftKey ? "reverse" : "play") : keys[e.key];
        // The speed keeps its own keys, and space on a key presses that key.
        if (!name || e.ctrlKey || e.metaKey || e.altKey || (e.target === speed && e.key !== " ") || (e.key === " " && !e.shiftKey && e.target.matches("button"))) { return; }
        e.preventDefault();
        actions[name]();
    });
    say();
    go(0);
    root.dataset.ready = "yes";
}
