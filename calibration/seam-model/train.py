"""Trains the seam network on made scenes, scores it on held-out ones and writes seam.onnx and the fixed crops.

    python3 train.py --seed 1 --seconds 480 --out DIR

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
from layouts import HELD_OUT_LAYOUTS
from network import SeamNetwork, pad_to_sixteen, to_input
from scenes import SceneMaker, Wishes, varied
from scoring import score_scenes, seam_bias

WARM_UP_STEPS, AVERAGING = 200, 0.998
SEAM_POSITIVE_WEIGHT, JUNCTION_POSITIVE_WEIGHT, JUNCTION_SHARE = 2.0, 1.5, 2.5


def loss_of(logits, scenes):
    """Weighted cross entropy and Dice for seams; cross entropy on the soft discs for junctions."""
    logits = logits.float()
    seam, junction = logits[:, :1], logits[:, 1:]
    positive = lambda value: torch.tensor(value, device=logits.device)
    bce = F.binary_cross_entropy_with_logits(seam, scenes.seam, scenes.weight, pos_weight=positive(SEAM_POSITIVE_WEIGHT))
    p = seam.sigmoid() * scenes.weight
    truth = scenes.seam * scenes.weight
    dice = 1 - 2 * (p * truth).sum() / ((p * p).sum() + (truth * truth).sum() + 1)
    clear = -F.max_pool2d(-scenes.weight, 13, 1, 6)  # junctions of invisible seams count neither way
    points = F.binary_cross_entropy_with_logits(junction, scenes.junction, clear, pos_weight=positive(JUNCTION_POSITIVE_WEIGHT))
    return bce + dice + JUNCTION_SHARE * points


def train(seconds, batch, device, peak_rate=2.5e-3, start_from=None, fabric_count=600, size=256):
    pool = FabricPool(device, count=fabric_count)
    maker = SceneMaker(pool, size)
    network = SeamNetwork().to(device, memory_format=torch.channels_last)
    if start_from:
        network.load_state_dict(torch.load(start_from, map_location=device))
    average = SeamNetwork().to(device).eval()
    average.load_state_dict(network.state_dict())
    optimiser = torch.optim.AdamW(network.parameters(), peak_rate, weight_decay=1e-3)
    start, step, running = time.time(), 0, torch.zeros((), device=device)
    while (elapsed := time.time() - start) < seconds:
        rate = peak_rate * min(1, (step + 1) / WARM_UP_STEPS) * (0.5 + 0.5 * math.cos(math.pi * elapsed / seconds)) + 1e-5
        for group in optimiser.param_groups:
            group["lr"] = rate
        with torch.no_grad():
            if step % 2 == 0:
                pool.refresh()
                scenes = maker.make(batch)
            else:
                scenes = varied(scenes)
        with torch.autocast(device, torch.bfloat16):
            logits = network(to_input(scenes.picture).contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits, scenes)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        with torch.no_grad():
            keep = min(AVERAGING, (1 + step) / (10 + step))
            for mean, value in zip(average.state_dict().values(), network.state_dict().values()):
                if mean.is_floating_point():
                    mean.lerp_(value, 1 - keep)
            running = running * 0.98 + loss.detach() * 0.02
        step += 1
        if step % 500 == 0:
            print(f"step {step}  {time.time() - start:.0f} s  loss {running.item() / (1 - 0.98 ** step):.4f}", flush=True)
    return average, step


def held_out_scores(network, device):
    """Other seeds, other prints, and layouts that training never drew; 64 scenes of 256 px each, at 28 to 38 px/in."""
    torch.manual_seed(990001)
    with torch.no_grad():
        maker = SceneMaker(FabricPool(device, count=180, floor_count=20, prints=HELD_OUT_PRINTS))
        base = dict(layouts=HELD_OUT_LAYOUTS, px_per_inch=(28.0, 38.0))
        categories = {
            "solids": Wishes(fabric="solids", **base), "prints": Wishes(fabric="prints", **base),
            "same_fabric": Wishes(fabric="prints", fabrics_per_scene=(1,), **base),
            "same_solid": Wishes(fabric="solids", fabrics_per_scene=(1,), **base),
            "quilted": Wishes(quilting=2.6, **base),
            "any_scale": Wishes(layouts=HELD_OUT_LAYOUTS),
        }
        scores = {}
        for name, wishes in categories.items():
            scores[name] = score_scenes(network, maker.make(64, wishes))
            print(name, scores[name], flush=True)
    scores["seam_bias"] = seam_bias(network, device)
    print("bias", scores["seam_bias"], flush=True)
    return scores, maker


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
        scenes = maker.make(24, Wishes(px_per_inch=(28.0, 38.0), fabrics_per_scene=(4, 6, 8), outline=0.1))
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


def write_samples(scenes, path):
    picture = scenes.picture[:24].cpu()
    shown = picture * 0.6
    shown[:, 0] = shown[:, 0].maximum((scenes.seam * scenes.weight)[:24, 0].cpu())
    shown[:, 1] = shown[:, 1].maximum(scenes.junction[:24, 0].cpu())
    sheet = torch.cat([torch.cat([torch.cat(list(p[k:k + 6]), 2) for p in (picture, shown)], 1) for k in range(0, 24, 6)], 1)
    Image.fromarray((sheet.clamp(0, 1) * 255).byte().permute(1, 2, 0).numpy()).save(path)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=480)
    parser.add_argument("--batch", type=int, default=64)
    parser.add_argument("--rate", type=float, default=2.5e-3, help="highest learning rate")
    parser.add_argument("--start-from", type=Path, help="seam.pt of an earlier run, to train on")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--samples", action="store_true", help="also write a sheet of made scenes with their labels")
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(arguments.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    network, steps = train(arguments.seconds, arguments.batch, "cuda", arguments.rate, arguments.start_from)
    torch.save(network.state_dict(), arguments.out / "seam.pt")
    scores, maker = held_out_scores(network, "cuda")
    if arguments.samples:
        with torch.no_grad():
            write_samples(maker.make(24, Wishes()), arguments.out / "samples.png")
    report = {"seed": arguments.seed, "steps": steps, "seconds": arguments.seconds, "batch": arguments.batch, "rate": arguments.rate,
              "started_from_scratch": arguments.start_from is None, "held_out": scores}
    report.update(export(network, arguments.out / "seam.onnx"))
    write_fixed_crops(network.cpu(), maker, arguments.out / "fixed-crops")
    (arguments.out / "scores.json").write_text(json.dumps(report, indent=1) + "\n")
    print(json.dumps(report))


if __name__ == "__main__":
    main()
