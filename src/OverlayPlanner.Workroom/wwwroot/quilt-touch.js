export function follow(place, page) {
    const svg = place.querySelector("svg");
    place.addEventListener("click", (e) => {
        const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
        const part = e.target.closest("[data-id]");
        page.invokeMethodAsync("Touched", p.x, p.y, part?.dataset.kind ?? null, part?.dataset.id ?? null);
    });
}
