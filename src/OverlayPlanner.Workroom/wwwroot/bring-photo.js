// Sends a photo by the form's own address, with how far it is, and takes what is dropped anywhere on the screen. What is refused is
// said here; what is kept is opened.
export function bring(form) {
    const ended = new AbortController();
    const on = (target, what, run) => target.addEventListener(what, run, { signal: ended.signal });
    const find = (name) => form.querySelector(name);
    const [file, said, sending, words, bar] = ["#photo", ".bring-said", ".sending", ".sending-words", "progress"].map(find);
    let request = null;
    let arrived = false;

    const say = (text) => {
        said.textContent = text;
        said.hidden = text.length === 0;
    };
    const busy = (yes) => {
        sending.hidden = !yes;
        find(".use").disabled = yes;
        file.disabled = yes;
        form.setAttribute("aria-busy", yes ? "true" : "false");
    };
    // A reader is not told each percent.
    let toldTenth = -1;
    const tell = (part) => {
        const percent = Math.floor(part * 100);
        bar.value = percent;
        bar.textContent = `${percent} %`;
        if (Math.floor(percent / 10) !== toldTenth) {
            toldTenth = Math.floor(percent / 10);
            words.textContent = `Sending the photo: ${percent} %`;
        }
    };
    const over = (text) => {
        request = null;
        busy(false);
        say(text);
        find(".use").focus();
    };

    const send = (photo) => {
        if (request) {
            return;
        }
        if (photo.size > Number(form.dataset.most)) {
            say(form.dataset.tooLarge);
            return;
        }
        say("");
        const body = new FormData();
        body.append("photo", photo, photo.name);
        arrived = false;
        toldTenth = -1;
        request = new XMLHttpRequest();
        request.upload.addEventListener("progress", (e) => e.lengthComputable && tell(e.loaded / e.total));
        request.upload.addEventListener("load", () => {
            arrived = true;
            bar.removeAttribute("value");
            words.textContent = "The photo is here. Looking whether it is sharp, light enough and near enough, and whether cards are in it …";
        });
        request.addEventListener("load", () => {
            const there = new URL(request.responseURL || location.href, location.href);
            const refused = there.searchParams.get("refused");
            if (refused || request.status >= 400) {
                over(refused ?? "The photo was not taken in. Open this screen again and send it once more.");
            } else {
                location.assign(there.href);
            }
        });
        request.addEventListener("error", () => over("The photo did not arrive, and nothing was kept. Look whether the program still runs, then send it again."));
        request.addEventListener("abort", () =>
            over(arrived ? "Stopped. Where the photo was kept already, it is among your quilts." : "Stopped. Nothing was kept."));
        tell(0);
        busy(true);
        find(".stop").focus();
        request.open("POST", form.action);
        request.send(body);
    };

    on(form, "submit", (e) => {
        if (file.files.length > 0) {
            e.preventDefault();
            send(file.files[0]);
        }
    });
    on(find(".stop"), "click", () => request?.abort());
    on(file, "change", () => say(""));

    // What is dragged over the whole screen; a picture dragged out of the page itself is none of it.
    const hasFile = (e) => [...(e.dataTransfer?.types ?? [])].includes("Files");
    let depth = 0;
    const show = (by) => {
        depth = Math.max(0, depth + by);
        form.classList.toggle("over", depth > 0);
    };
    on(document, "dragenter", (e) => hasFile(e) && show(1));
    on(document, "dragleave", (e) => hasFile(e) && show(-1));
    on(document, "dragover", (e) => {
        if (hasFile(e)) {
            e.preventDefault();
            e.dataTransfer.dropEffect = request ? "none" : "copy";
        }
    });
    on(document, "drop", (e) => {
        show(-depth);
        // The other form on the screen takes its own file.
        if (!hasFile(e) || e.target.closest?.("input[type=file]:not(#photo)")) {
            return;
        }
        e.preventDefault();
        const dropped = [...e.dataTransfer.files];
        if (dropped.length !== 1) {
            say("Drop one photo, not several: each is a quilt of its own.");
        } else {
            send(dropped[0]);
        }
    });

    form.dataset.ready = "yes";
    return {
        stop() {
            ended.abort();
            request?.abort();
        },
    };
}
