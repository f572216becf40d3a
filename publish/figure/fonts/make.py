"""Makes Lampassay's faces from Inter 4.1 (npm package inter-ui 4.1.1, web/*.woff2).

Run:  python3 make.py DIRECTORY_WITH_INTER_WOFF2
Needs fonttools 4.38 and brotli 1.0.9; writes *.ttf and *.woff2 beside itself.
"""
import pathlib, sys
from fontTools import subset
from fontTools.ttLib import TTFont

UNICODES = [
    (0x20, 0x7E), (0xA0, 0x17F), (0x218, 0x21B), (0x391, 0x3A9), (0x3B1, 0x3C9),
    (0x401, 0x45F), (0x490, 0x491),
    (0x2007, 0x2007), (0x2009, 0x200A), (0x202F, 0x202F), (0x2010, 0x2015), (0x2018, 0x201E),
    (0x2020, 0x2022), (0x2026, 0x2026), (0x2030, 0x2030), (0x2032, 0x2033), (0x2044, 0x2044),
    (0x2070, 0x2071), (0x2074, 0x208E), (0x2090, 0x209C), (0x20AC, 0x20AC), (0x2126, 0x2126),
    (0x2190, 0x2195), (0x2202, 0x2202), (0x2206, 0x2206), (0x220F, 0x220F), (0x2211, 0x2212),
    (0x2215, 0x2215), (0x2219, 0x221A), (0x221E, 0x221E), (0x222B, 0x222B), (0x2248, 0x2248),
    (0x2260, 0x2260), (0x2264, 0x2265), (0x25CB, 0x25CB), (0x25CF, 0x25CF), (0x2713, 0x2713),
]
# file, source, family, style, and whether figures of one width are the default
FACES = [
    ("text-regular", "Inter-Regular", "Lampassay Text", "Regular", False),
    ("text-semibold", "Inter-SemiBold", "Lampassay Text", "SemiBold", False),
    ("numbers-regular", "Inter-Regular", "Lampassay Numbers", "Regular", True),
]


def tabular(font):
    """Points every character at its figure of one width, if it has one."""
    swap = {}
    gsub = font["GSUB"].table
    for record in gsub.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for table in gsub.LookupList.Lookup[index].SubTable:
                    swap.update(getattr(table, "ExtSubTable", table).mapping)
    for table in font["cmap"].tables:
        table.cmap = {c: swap.get(g, g) for c, g in table.cmap.items()}


def rename(font, family, style):
    full, bare = f"{family} {style}", f"{family}-{style}".replace(" ", "")
    own = {1: family if style == "Regular" else full, 2: "Regular", 3: f"{full}; from Inter 4.1", 4: full,
           6: bare, 16: family, 17: style}
    table = font["name"]
    table.names = [n for n in table.names if n.nameID in (0, 5, 8, 9, 11, 13, 14)]
    for number, text in own.items():
        table.setName(text, number, 3, 1, 0x409)


def main(source):
    here = pathlib.Path(__file__).parent
    for file, origin, family, style, one_width in FACES:
        font = TTFont(source / f"{origin}.woff2", recalcTimestamp=False)
        if one_width:
            tabular(font)
        options = subset.Options()
        options.layout_features = ["kern", "ccmp"] + ([] if one_width else ["tnum"])
        options.hinting = False
        options.name_IDs = ["*"]
        options.notdef_outline = True
        options.recalc_timestamp = False
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=[c for a, b in UNICODES for c in range(a, b + 1)])
        cutter.subset(font)
        rename(font, family, style)
        font.flavor = None
        font.save(here / f"{file}.ttf")
        font.flavor = "woff2"
        font.save(here / f"{file}.woff2")


main(pathlib.Path(sys.argv[1]))
