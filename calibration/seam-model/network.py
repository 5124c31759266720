"""The seam network: a small encoder and decoder with skip connections, and wide context at its narrowest place.

Input [n, 3, h, w], RGB, x / 255 · 2 − 1, h and w multiples of 16. Output [n, 2, h, w] logits: seam, junction; in training two
more, the seam's direction as cos 2θ and sin 2θ, which are left out of seam.onnx.
"""
import torch
import torch.nn.functional as F
from torch import nn


class TwoConvolutions(nn.Sequential):
    def __init__(self, inputs, outputs):
        super().__init__(
            nn.Conv2d(inputs, outputs, 3, 1, 1, bias=False), nn.BatchNorm2d(outputs), nn.ReLU(True),
            nn.Conv2d(outputs, outputs, 3, 1, 1, bias=False), nn.BatchNorm2d(outputs), nn.ReLU(True))


class Context(nn.Module):
    """One dilated convolution added to its input: sees far at little cost, since it works on 16-pixel cells."""

    def __init__(self, channels, dilation):
        super().__init__()
        self.convolution = nn.Sequential(
            nn.Conv2d(channels, channels, 3, 1, dilation, dilation, bias=False), nn.BatchNorm2d(channels), nn.ReLU(True))

    def forward(self, x):
        return x + self.convolution(x)


class SeamNetwork(nn.Module):
    OUTPUTS = ("seam", "junction")

    def __init__(self, channels=(16, 32, 56, 96, 160), dilations=(1, 2, 4, 8, 4, 1), extra=0):
        """`extra` outputs are there to be learnt from alone."""
        super().__init__()
        self.down = nn.ModuleList([TwoConvolutions(a, b) for a, b in zip((3,) + channels, channels)])
        self.context = nn.Sequential(*[Context(channels[-1], d) for d in dilations])
        self.up = nn.ModuleList([TwoConvolutions(channels[k] + channels[k - 1], channels[k - 1]) for k in range(len(channels) - 1, 0, -1)])
        self.head = nn.Conv2d(channels[0], len(self.OUTPUTS) + extra, 1)
        nn.init.constant_(self.head.bias, -2.5)  # lines are rare; start there

    def forward(self, x):
        skips = []
        for level, block in enumerate(self.down):
            x = block(x if level == 0 else F.max_pool2d(x, 2))
            skips.append(x)
        x = self.context(x)
        for level, block in enumerate(self.up):
            x = block(torch.cat([F.interpolate(x, scale_factor=2.0, mode="nearest"), skips[-2 - level]], 1))
        return self.head(x)


    def without_extra(self):
        """The same network with the outputs of the contract alone."""
        weights = {name: value[:len(self.OUTPUTS)] if name.startswith("head.") else value for name, value in self.state_dict().items()}
        plain = SeamNetwork()
        plain.load_state_dict(weights)
        return plain.eval()


def to_input(picture):
    """Picture [n, 3, h, w] in 0..1 to network input; the sides must be multiples of 16."""
    return picture * 2 - 1


def pad_to_sixteen(x):
    """Repeats the last row and column until both sides are multiples of 16."""
    return F.pad(x, (0, -x.shape[-1] % 16, 0, -x.shape[-2] % 16), mode="replicate")
