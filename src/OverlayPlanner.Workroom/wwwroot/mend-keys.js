// Undo and redo by the keys that every program uses; in a field that is typed in they stay the field's own.
export function listen(page) {
    const onKey = (e) => {
        if (!(e.ctrlKey || e.metaKey) || e.altKey) return;
        if (e.target instanceof HTMLElement && e.target.closest("input, textarea, select, [contenteditable]")) return;
        const key = e.key.toLowerCase();
        const redo = (key === "z" && e.shiftKey) || key === "y";
        if (key !== "z" && !redo) return;
        e.preventDefault();
        page.invokeMethodAsync("KeyPressed", redo);
    };
    document.addEventListener("keydown", onKey);
    return { stop: () => document.removeEventListener("keydown", onKey) };
}
