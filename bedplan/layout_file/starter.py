"""The commented layout that a new project starts from (layer: layout_file).

One garden in two dresses: the same text with imperial or metric sizes, each rounded as a person
with that tape would write it.

Public entry point: `starter`.
"""

from __future__ import annotations

import json
from string import Template
from typing import Final

from bedplan.units import System


def starter(title: str, show: System = "imperial") -> str:
    """Return a small walled garden as a layout file, with a comment at every common key.

    Parameters
    ----------
    title
        Title of the new layout; control characters and line ends become spaces.
    show
        Which sizes it is written in, and how results will read.

    Examples
    --------
    >>> print(starter("Back yard", "metric").splitlines()[5])
    title = "Back yard"
    """
    words = "".join(" " if ord(sign) < 32 or ord(sign) == 127 else sign for sign in title).split()
    column = 0 if show == "imperial" else 1
    sizes = {name: pair[column] for name, pair in _SIZES.items()}
    return Template(_TEXT).substitute(
        sizes,
        title=json.dumps(" ".join(words)[:200] or "New garden", ensure_ascii=False),
        show=show,
    )


_SIZES: Final[dict[str, tuple[str, str]]] = {
    "unit": ("in", "m"),
    "two_ways": ('"5 ft 6 in"', '"1.7 m"'),
    "a": ("[0, 0]", "[0, 0]"),
    "b": ('["24 ft", 3]', "[7.3, 0.08]"),
    "c": ('["23 ft 6 in", "18 ft 4 in"]', "[7.15, 5.6]"),
    "d": ('[-2, "18 ft"]', "[-0.05, 5.5]"),
    "post": ('"3-1/2 in"', '"90 mm"'),
    "posts_ab": ('["8 ft 9 in", "12 ft 9 in"]', "[2.65, 3.85]"),
    "posts_bc": ('["6 ft", "12 ft"]', "[1.85, 3.7]"),
    "gate_along": ('"9 ft"', "2.75"),
    "opening": ('"42 in"', '"105 cm"'),
    "gap": ('"2 in"', '"5 cm"'),
    "pear_along": ('"7 ft"', "2.15"),
    "pear_in": ('"4 ft"', "1.2"),
    "stem": ('"4 in"', '"10 cm"'),
    "spread": ('"9 ft"', "2.7"),
    "clear": ('"6 in"', '"15 cm"'),
    "sage_at": ('["15 ft", "7 ft"]', "[4.55, 2.1]"),
    "sage_spread": ('"20 in"', '"50 cm"'),
    "border": ('"20 in"', '"50 cm"'),
    "border_end": ('"3 ft"', '"90 cm"'),
    "mulch": ('"3 in"', '"75 mm"'),
    "soil": ('"5 in"', '"12 cm"'),
    "kitchen_along": ('"7 ft"', "2.1"),
    "kitchen_in": ('"9 ft"', "2.7"),
    "kitchen_size": ('["6 ft", "4 ft"]', "[1.8, 1.2]"),
    "pear_clear": ('"22 in"', '"55 cm"'),
    "round_at": ('["9 ft", "12 ft 6 in"]', "[2.75, 3.8]"),
    "radius": ('"18 in"', '"45 cm"'),
    "joint": ('["3/8 in", "1-1/2 in"]', '["10 mm", "40 mm"]'),
    "base": ('"4 in"', '"11 cm"'),
    "sand": ('"1 in"', '"25 mm"'),
    "walk": ('"3 ft"', '"90 cm"'),
    "larch": ('"7/8 in"', '"22 mm"'),
    "larch_height": ('"5-1/2 in"', '"140 mm"'),
    "kerf": ('"1/8 in"', '"3 mm"'),
    "stock_a": ('"8 ft"', "2.4"),
    "stock_b": ('"12 ft"', "3.6"),
    "left_a": ('"31 in"', '"78 cm"'),
    "left_b": ('"44 in"', '"112 cm"'),
    "block": ('"12 in"', '"30 cm"'),
    "peg": ('"1-1/2 in"', '"38 mm"'),
    "peg_length": ('"18 in"', '"45 cm"'),
    "peg_every": ('"4 ft"', "1.2"),
    "peg_above": ('"-1/2 in"', '"-1 cm"'),
    "screw": ('"2-1/2 in"', '"60 mm"'),
    "pipe_clear": ('"4 in"', '"10 cm"'),
    "strip": ('"1/8 in"', '"3 mm"'),
    "strip_height": ('"4 in"', '"100 mm"'),
    "strip_stock": ('"10 ft"', "3"),
    "slab": ('["16 in", "16 in"]', '["40 cm", "40 cm"]'),
    "slab_thick": ('"1-3/4 in"', '"45 mm"'),
    "slab_weight": ('"36 lb"', '"16.5 kg"'),
    "roll_width": ('"4 ft"', "1.2"),
    "roll": ('"50 ft"', "15"),
    "lap": ('"6 in"', '"15 cm"'),
    "turn": ('"3 in"', '"8 cm"'),
    "pin": ('"3 ft"', "0.9"),
    "rock_density": ('"2900 lb/yd^3"', '"1720 kg/m^3"'),
    "sand_density": ('"2600 lb/yd^3"', '"1540 kg/m^3"'),
    "bark_density": ('"480 lb/yd^3"', '"285 kg/m^3"'),
    "soil_density": ('"1900 lb/yd^3"', '"1130 kg/m^3"'),
    "ton": ("ton", "tonne"),
    "half_ton": ('"0.5 ton"', '"0.5 tonne"'),
    "one_ton": ('"1 ton"', '"1 tonne"'),
    "yard": ("yd^3", "m^3"),
    "half_yard": ('"0.5 yd^3"', '"0.5 m^3"'),
    "bag": ('"2 ft^3"', '"50 L"'),
    "small_bag": ('"0.5 ft^3"', '"15 L"'),
    "sand_left": ('"3 ft^3"', '"80 L"'),
}

_TEXT: Final = """\
# A bedplan layout. Change the figures to your own, then run:  bedplan check FILE
#
# Bare numbers are in `unit`; a text carries its own unit: $two_ways.
# Every key stands on its own line; a # starts a comment.

title = $title
unit = "$unit"
show = "$show" # how results read: imperial or metric
# include = "prices.toml"    # boards, pavers, fabrics and materials kept in a file of their own

# ---- the fence --------------------------------------------------------------------------------

# The inside face of the fence, corner by corner round it. Every two neighbours name a side: AB,
# BC, CD, DA. No corner has to be square; measure them as they are.
[enclosure]
corners = { A = $a, B = $b, C = $c, D = $d }
# A post stands at every corner; these stand between, by their distance along the side.
posts = { size = $post, AB = $posts_ab, BC = $posts_bc }

[[gate]]
name = "garden gate"
side = "AB"
along = $gate_along # from corner A to the near edge of the opening
opening = $opening # clear width
leaves = 1
hinge = "A" # the corner towards which the leaf hangs
opens = "in"
gap_below = $gap

# ---- plants -----------------------------------------------------------------------------------

# A point is [x, y], or tied to a side: so far along it, then so far in, square to it. Tied points
# move with the fence when you measure it again.
[[plant]]
name = "pear"
at = { side = "DA", along = $pear_along, in = $pear_in }
stem = $stem
spread = $spread
keep_clear = $clear # no board and no paver nearer to the stem
existing = true

[[plant]]
name = "sage"
at = $sage_at
spread = $sage_spread
existing = false # still to be planted, so it must stand in a bed

# Stakes keep clear of a buried pipe or cable:
# [[pipe]]
# name = "water to the tap"
# line = [{ side = "BC", along = $kitchen_along }, { side = "BC", along = 0 }]
# clear = $pipe_clear

# ---- beds: exactly one of along, rectangle, around, circle, polygon ----------------------------

[[bed]]
name = "long border"
along = ["BC", "CD"] # follows these sides, mitred at their corner
width = $border
end = $border_end # stops short of corner D; `start` shortens the other end
edging = "larch" # a [board.…] below
against_fence = false # true puts boards along the fence as well
barrier = "none"
mulch = { material = "bark", depth = $mulch }

[[bed]]
name = "kitchen bed"
edging = "larch"
tiers = 1 # boards stacked; or the height of their top
layers = [{ material = "planting soil", depth = $soil }] # lowest layer first

[bed.rectangle]
center = { side = "BC", along = $kitchen_along, in = $kitchen_in }
size = $kitchen_size
square_to = "AB" # a side, or degrees

[[bed]]
name = "pear bed"
around = ["pear"] # the smallest rectangle that keeps the clearance
clearance = $pear_clear
square_to = "DA"
edging = "larch"
mulch = { material = "bark", depth = $mulch }

[[bed]]
name = "round bed"
circle = { center = $round_at, radius = $radius } # facets = 12 makes it of straight boards
edging = "steel strip"
mulch = { material = "bark", depth = $mulch }

# ---- paths: exactly one of area, polygon, centerline -------------------------------------------

[[path]]
name = "walk"
area = "rest" # all that no bed and no other path takes
barrier = "woven"
layers = [{ material = "base rock", depth = $base }, { material = "bedding sand", depth = $sand }]
pavers = "slab" # whole units only: none is ever cut
bond = "stack" # or running, with offset = 0.5
direction = "best" # or a side, or degrees
joint = $joint # least and greatest
# with stride, a length, the units are stepping stones, one a step
joint_fill = "base rock"

# A walk of even width along a line of points would be:
# [[path]]
# name = "side walk"
# centerline = [{ side = "AB", along = $gate_along }, $round_at]
# width = $walk

# ---- what you buy: prices are plain numbers, left out where you do not know them ----------------

[board.larch]
thickness = $larch
height = $larch_height
kerf = $kerf # width of the saw cut
corner = "butt" # or mitre, or stake
through = "long" # which board runs through a butt corner: long or pinwheel
stock = [{ length = $stock_a, price = 7.40 }, { length = $stock_b, price = 10.60 }]
on_hand = [$left_a, $left_b] # leftovers, used first
splice = "even" # or anywhere: where the cut plan gains most
block = $block # behind every splice; 0 for none
stake = "peg"
screws = "deck screw"

[board."steel strip"]
thickness = $strip
height = $strip_height
bends = true # follows a curve
stock = [{ length = $strip_stock, price = 21.50 }]

[stake.peg]
size = $peg
length = $peg_length
every = $peg_every # besides those at corners; left out, none stand between
above = $peg_above # below the top of the boards
price = 1.30

[screw."deck screw"]
length = $screw
pack = 100
price = 11.50

[paver.slab]
size = $slab
thickness = $slab_thick
price = 5.10
weight = $slab_weight
on_hand = 8

[fabric.woven]
width = $roll_width
lap = $lap
turn_up = $turn
pin_every = $pin
pin_price = 0.20
rolls = [{ length = $roll, price = 36 }]

[material."base rock"]
compaction = 1.25 # loose volume for each volume in place
density = $rock_density
bulk = { per = "$ton", price = 39, step = $half_ton, minimum = $one_ton, delivery = 65 }

[material."bedding sand"]
compaction = 1.15
density = $sand_density
bags = [{ volume = $small_bag, price = 5.20 }]
on_hand = $sand_left

[material.bark]
density = $bark_density
bulk = { per = "$yard", price = 33, step = $half_yard, delivery = 65 }
bags = [{ volume = $bag, price = 4.60 }]

[material."planting soil"]
compaction = 1.1
density = $soil_density
bulk = { per = "$yard", price = 44, step = $half_yard, delivery = 65 }
"""
