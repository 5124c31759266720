// The line between this page and the workroom. While it is cut a word at the screen's foot says so, without covering what is worked on;
// it is tried again until it is back. A workroom that was started anew doesn't know this page any more: then it is opened again.
const note = document.getElementById("components-reconnect-modal");
const EVERY = 2000;
let trying = false;

const tryOn = async () => {
    if (trying) {
        return;
    }
    trying = true;
    for (;;) {
        try {
            if (!(await Blazor.reconnect())) {
                location.reload();
            }
            break;
        } catch {
            // Not there yet: the program is closed or starting.
            await new Promise((on) => setTimeout(on, EVERY));
        }
    }
    trying = false;
};

note.addEventListener("components-reconnect-state-changed", (event) => {
    const state = event.detail.state;
    note.hidden = state === "hide";
    note.querySelector(".closed").hidden = state !== "failed" && !trying;
    if (state === "failed") {
        tryOn();
    } else if (state === "rejected") {
        location.reload();
    }
});
