"""The usual cautions for the tools and stuffs that one cushion takes. They replace no rule of any country."""

from __future__ import annotations

from squab.sew.bench import Bench
from squab.supply.fill import FOAM, film_use, is_loose

MACHINE = (
    "Machine: finger guard on; foot off the treadle and power off to thread, change a needle or clear a jam; "
    "eye protection over thick stacks."
)
BLADES = (
    "Blades: close a rotary cutter after every cut, cut away from yourself, against a guarded rule; keep the wrist "
    "straight on long runs with shears."
)
HOT_KNIFE = (
    "Hot knife: burns and fumes. Draw the fume off at the tool, try it on scrap, have water or an extinguisher by, "
    "let it cool before it is put away."
)
HOT_KNIFE_COATED = " Never on PVC-coated cloth: its fume is harmful."
FOAM_DUST = (
    "Foam: saw or knife away from the holding hand, dust mask on, clear offcuts away at once: foam burns fast and its "
    "smoke is poisonous."
)
GLUE = (
    "Spray glue: draw the vapour off, no flame or spark, let it dry off before the cover is closed; water-based is to "
    "be preferred. Read the label and the data sheet."
)
FILM = "Film and bags: keep from children; thin, large ones take a printed warning in some places."
IRON = "Iron and steam: scorch and melt; try them on scrap first, through a cloth."
IRON_ON_PILE = " The [[nap]] crushes: steam its seams from the back, do not press."
FIRE = (
    "Fire: the rule looks at the finished cushion, cover, fill and use together: check the rule for your country and "
    "use."
)


def cautions_for(bench: Bench) -> tuple[str, ...]:
    """Choose the cautions that apply to one cushion."""
    fill = bench.cushion.fill
    found = [MACHINE, BLADES]
    if bench.job.knife_gap_mm > 0.0:
        found.append(HOT_KNIFE + (HOT_KNIFE_COATED if bench.cloth.vinyl else ""))
    if fill.kind in FOAM:
        found.append(FOAM_DUST)
    if fill.wrap_mm > 0.0 and not is_loose(fill):
        found.append(GLUE)
    if film_use(bench.job, bench.cushion) != "none":
        found.append(FILM)
    if not bench.cloth.vinyl:
        found.append(IRON + (IRON_ON_PILE if bench.cloth.pile else ""))
    return (*found, FIRE)
