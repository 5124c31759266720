"""Trains the seam network on made scenes, scores it on held-out ones and writes seam.onnx and the fixed crops.

    python3 train.py --seed 1 --out DIR

Needs PyTorch with a CUDA device, onnx, onnxruntime, numpy, scipy, scikit-image and Pillow. No picture is read.
"""
import argparse
import hashlib
import json
import math
import time
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F
from PIL import Image

from fabrics import HELD_OUT_PRINTS, FabricPool
from network import SeamNetwork, pad_to_sixteen, to_input
from patterns import HELD_OUT_LAYOUTS
from scenes import SceneMaker, Shelf, Wishes, seam_direction
from scoring import score_scenes, seam_bias

STEPS = 8500
WARM_UP_STEPS, AVERAGING = 200, 0.999
SEAM_POSITIVE_WEIGHT, JUNCTION_POSITIVE_WEIGHT, JUNCTION_SHARE, DIRECTION_SHARE = 2.0, 1.5, 2.5, 0.3
# Every tenth step makes new scenes; the shelf holds the last ones, so that each is trained on four or five times.
SCENES_AT_A_TIME, STEPS_BETWEEN, SHELF = 64, 10, 4096
HELD_OUT_SEED, HELD_OUT_SCENES, HELD_OUT_SIZE = 990001, 48, 320


def loss_of(logits, seam, junction, weight):
    """Weighted cross entropy and Dice for seams; cross entropy on the soft discs for junctions; squares for the direction."""
    logits = logits.float()
    positive = lambda value: torch.tensor(value, device=logits.device)
    bce = F.binary_cross_entropy_with_logits(logits[:, :1], seam, weight, pos_weight=positive(SEAM_POSITIVE_WEIGHT))
    p, truth = logits[:, :1].sigmoid() * weight, seam * weight
    dice = 1 - 2 * (p * truth).sum() / ((p * p).sum() + (truth * truth).sum() + 1)
    clear = -F.max_pool2d(-weight, 13, 1, 6)  # junctions of invisible seams count neither way
    points = F.binary_cross_entropy_with_logits(logits[:, 1:2], junction, clear, pos_weight=positive(JUNCTION_POSITIVE_WEIGHT))
    loss = bce + dice + JUNCTION_SHARE * points
    if logits.shape[1] > 2:
        away = (torch.tanh(logits[:, 2:4]) - seam_direction(seam)).square().sum(1, keepdim=True)
        loss = loss + DIRECTION_SHARE * (away * truth).sum() / (truth.sum() + 1)
    return loss


def checkpoint_files(folder):
    """Two files, so that each stays small; Adam's moments are not kept, they are back within the warm-up."""
    return folder / "checkpoint-network.pt", folder / "checkpoint-average.pt"


def train(arguments, device):
    pool = FabricPool(device, count=arguments.fabrics, compound=arguments.compound)
    maker = SceneMaker(pool, arguments.size)
    shelf = Shelf(SHELF if device == "cuda" else 4 * arguments.scenes, arguments.size, device)
    extra = 2 if arguments.direction else 0
    network = SeamNetwork(extra=extra).to(device, memory_format=torch.channels_last)
    average = SeamNetwork(extra=extra).to(device).eval()
    if arguments.start_from:
        network.load_state_dict(torch.load(arguments.start_from, map_location=device))
    average.load_state_dict(network.state_dict())
    optimiser = torch.optim.AdamW(network.parameters(), arguments.rate, weight_decay=1e-3)
    first, files = 0, checkpoint_files(arguments.out)
    if arguments.resume and files[0].exists():
        first, weights = torch.load(files[0], map_location=device)
        network.load_state_dict(weights)
        average.load_state_dict(torch.load(files[1], map_location=device))
    forward = torch.compile(network) if device == "cuda" else network
    start, running, pace = time.time(), torch.zeros((), device=device), 0.0
    for step in range(first, arguments.steps):
        if arguments.stop_after and time.time() - start > arguments.stop_after:
            torch.save((step, network.state_dict()), files[0])
            torch.save(average.state_dict(), files[1])
            return None, step
        done = step - first
        rate = arguments.rate * min(1, (done + 1) / WARM_UP_STEPS) * (0.5 + 0.5 * math.cos(math.pi * step / arguments.steps)) + 1e-5
        for group in optimiser.param_groups:
            group["lr"] = rate
        with torch.no_grad():
            # at the start the shelf is empty, so that every step makes scenes
            if done < 16 or done % STEPS_BETWEEN == 0:
                for _ in range(3):
                    pool.refresh()
                shelf.put(maker.make(arguments.scenes))
            picture, *labels = shelf.take(arguments.batch)
        with torch.autocast(device, torch.bfloat16):
            logits = forward(to_input(picture).contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits, *labels)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        with torch.no_grad():
            keep = min(AVERAGING, (1 + done) / (10 + done))
            pairs = [(mean, value) for mean, value in zip(average.state_dict().values(), network.state_dict().values()) if mean.is_floating_point()]
            means = [mean for mean, _ in pairs]
            torch._foreach_mul_(means, keep)
            torch._foreach_add_(means, [value for _, value in pairs], alpha=1 - keep)
            running = running * 0.98 + loss.detach() * 0.02
        if (step + 1) % arguments.report_every == 0:
            print(f"step {step + 1}  {time.time() - start:.0f} s  loss {running.item() / (1 - 0.98 ** (done + 1)):.4f}", flush=True)
    return average, arguments.steps


def held_out_wishes():
    """Layouts and prints that training never drew. What is not named is as in training."""
    base = dict(layouts=HELD_OUT_LAYOUTS, px_per_inch=(28.0, 38.0), applique=0, clutter=0)
    return {
        "solids": Wishes(fabric="solids", **base), "prints": Wishes(fabric="prints", **base),
        "same_fabric": Wishes(fabric="prints", fabrics_per_scene=(1,), **base),
        "same_solid": Wishes(fabric="solids", fabrics_per_scene=(1,), **base),
        "quilted": Wishes(quilting=2.6, **base), "worn": Wishes(worn=1.0, **base), "shadows": Wishes(shadows=1.0, **base),
        "smeared": Wishes(smeared=1.0, **base),
        "applique": Wishes(**{**base, "applique": 1.0}), "clutter": Wishes(**{**base, "clutter": 1.0}),
        "coarse": Wishes(**{**base, "px_per_inch": (20.0, 24.0)}), "fine": Wishes(**{**base, "px_per_inch": (48.0, 60.0)}),
    }


def held_out_scores(network, device, scenes=HELD_OUT_SCENES, size=HELD_OUT_SIZE):
    """Other seeds, other prints and other layouts; each kind of scene from its own seed, so that any network meets the same ones."""
    torch.manual_seed(HELD_OUT_SEED)
    with torch.no_grad():
        maker = SceneMaker(FabricPool(device, count=180 if device == "cuda" else 24, floor_count=20, prints=HELD_OUT_PRINTS, group=6 if device == "cuda" else 2), size)
        scores = {}
        for number, (name, wishes) in enumerate(held_out_wishes().items()):
            torch.manual_seed(HELD_OUT_SEED + 1 + number)
            scores[name] = score_scenes(network, maker.make(scenes, wishes))
            print(name, scores[name], flush=True)
        scores["seam_bias"] = seam_bias(network, device)
    print("bias", scores["seam_bias"], flush=True)
    return scores, maker


def from_onnx(path, device):
    """A network to score from its exported file."""
    import onnxruntime
    session = onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"])
    return lambda x: torch.cat([torch.from_numpy(session.run(None, {"x": one[None].float().cpu().numpy()})[0]) for one in x]).to(device)


def export(network, path):
    network = network.cpu().float().eval().to(memory_format=torch.contiguous_format)
    sizes = {2: "h", 3: "w"}
    torch.onnx.export(network, torch.zeros(1, 3, 64, 96), str(path), opset_version=17, dynamo=False, do_constant_folding=True,
                      input_names=["x"], output_names=["y"], dynamic_axes={"x": sizes, "y": sizes})
    import onnxruntime
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 2
    session = onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    x = torch.rand(1, 3, 512, 512) * 2 - 1
    with torch.no_grad():
        difference = float(np.abs(session.run(None, {"x": x.numpy()})[0] - network(x).numpy()).max())
    begin = time.time()
    for _ in range(5):
        session.run(None, {"x": x.numpy()})
    return {"onnx_torch_max_difference": difference, "cpu_ms_512_two_threads": round((time.time() - begin) * 200, 1),
            "sha256": hashlib.sha256(path.read_bytes()).hexdigest(), "bytes": path.stat().st_size,
            "parameters": sum(p.numel() for p in network.parameters())}


def write_fixed_crops(network, maker, folder):
    """Three made crops and what PyTorch answers to them in float32, for the test that holds the program against this."""
    folder.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(990007)
    with torch.no_grad():
        scenes = maker.make(24, Wishes(layouts=HELD_OUT_LAYOUTS, px_per_inch=(28.0, 38.0), fabrics_per_scene=(4, 6, 8), outline=0.1))
    rich = torch.argsort((scenes.junction > 0.95).float().mean((1, 2, 3)), descending=True)
    cards = []
    for number, (index, height, width) in enumerate(zip(rich[[0, 4, 8]].tolist(), (160, 256, 150), (192, 256, 203)), 1):
        picture = scenes.picture[index:index + 1, :, :height, :width].cpu()
        eight_bit = (picture * 255).round().to(torch.uint8)
        Image.fromarray(eight_bit[0].permute(1, 2, 0).numpy()).save(folder / f"crop-{number}.png")
        with torch.no_grad():
            answer = network(to_input(pad_to_sixteen(eight_bit.float() / 255))).sigmoid()[0, :, :height, :width]
        samples = []
        for channel in range(2):
            strongest = answer[channel].flatten().topk(height * width // 20).indices
            chosen = strongest[:: max(1, len(strongest) // 8)][:8].tolist() + [k * (height * width) // 8 + 37 * (k + 1) for k in range(8)]
            samples += [{"channel": channel, "x": k % width, "y": k // width, "probability": round(answer[channel, k // width, k % width].item(), 6)} for k in chosen if k < height * width]
        cards.append({"file": f"crop-{number}.png", "width": width, "height": height,
                      "channels": [{"name": name, "mean": round(answer[c].mean().item(), 6), "max": round(answer[c].max().item(), 6)} for c, name in enumerate(SeamNetwork.OUTPUTS)],
                      "samples": samples})
    text = {"note": "Probabilities are 1/(1+exp(-y)), computed by PyTorch in float32 on the crop padded on the right and below by repeating its edge to a multiple of 16; mean and max are over the unpadded crop.", "crops": cards}
    (folder / "expected.json").write_text(json.dumps(text, indent=1) + "\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--steps", type=int, default=STEPS)
    parser.add_argument("--batch", type=int, default=28)
    parser.add_argument("--scenes", type=int, default=SCENES_AT_A_TIME, help="scenes made at a time")
    parser.add_argument("--size", type=int, default=384, help="pixels along the side of a scene")
    parser.add_argument("--fabrics", type=int, default=600, help="fabrics kept at a time")
    parser.add_argument("--rate", type=float, default=2.5e-3, help="highest learning rate")
    parser.add_argument("--compound", type=float, default=0.35, help="share of printed fabrics with a layer of a second kind of print")
    parser.add_argument("--direction", action=argparse.BooleanOptionalAction, default=False, help="learn the seams' direction too")
    parser.add_argument("--start-from", type=Path, help="seam.pt of an earlier run, to train on")
    parser.add_argument("--stop-after", type=float, help="seconds after which the state is kept in OUT, for --resume")
    parser.add_argument("--resume", action="store_true", help="go on from the state kept in OUT")
    parser.add_argument("--report-every", type=int, default=500)
    parser.add_argument("--score", type=Path, help="train nothing: score this .onnx on the held-out scenes")
    parser.add_argument("--out", type=Path, required=True)
    arguments = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    arguments.out.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(arguments.seed)
    if device == "cuda":
        torch.backends.cudnn.benchmark = True
        torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    if arguments.score:
        scores, _ = held_out_scores(from_onnx(arguments.score, device), device)
        (arguments.out / "scores.json").write_text(json.dumps({"model": arguments.score.name, "held_out": scores}, indent=1) + "\n")
        return
    start = time.time()
    average, steps = train(arguments, device)
    if average is None:
        print(f"stopped at step {steps}; go on with --resume")
        return
    seconds = time.time() - start
    torch.save(average.state_dict(), arguments.out / "seam.pt")
    network = average.without_extra().to(device)
    scores, maker = held_out_scores(network, device)
    report = {"seed": arguments.seed, "steps": steps, "seconds": round(seconds), "batch": arguments.batch, "size": arguments.size, "rate": arguments.rate,
              "direction": arguments.direction, "compound": arguments.compound, "started_from_scratch": arguments.start_from is None, "held_out": scores}
    report.update(export(network, arguments.out / "seam.onnx"))
    write_fixed_crops(network.cpu(), maker, arguments.out / "fixed-crops")
    (arguments.out / "scores.json").write_text(json.dumps(report, indent=1) + "\n")


if __name__ == "__main__":
    main()
