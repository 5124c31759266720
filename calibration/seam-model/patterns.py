"""Which ways of piecing training draws, and which it never draws; numbers are shares."""
from drafts import HELD_OUT_DRAFTS, TRAINING_DRAFTS, set_blocks
from layouts import blocks, cells, kaleidoscopes, lemoyne_stars, log_cabins, pinwheel_chains, rings_and_frames, rows, sixty_degrees, slices
from rounds import apple_cores, bargello, clamshells, geese_rows, lone_stars, orange_peels, plates, tumblers

TRAINING_LAYOUTS = ((set_blocks(TRAINING_DRAFTS), 10), (blocks, 7), (rows, 4), (log_cabins, 1.5), (lemoyne_stars, 1.5), (sixty_degrees, 1), (cells, 1),
                    (slices, 1.5), (rings_and_frames, 1), (tumblers, 0.5), (geese_rows, 1), (bargello, 0.7), (orange_peels, 0.7),
                    (plates, 0.7), (lone_stars, 0.7))
HELD_OUT_LAYOUTS = ((set_blocks(HELD_OUT_DRAFTS), 6), (kaleidoscopes, 2), (pinwheel_chains, 2), (clamshells, 1), (apple_cores, 1))
