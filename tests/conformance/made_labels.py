"""Generated GS1 labels, valid and mutated, from the table of AIs that biip carries.

Nothing here comes from the reader under test: patterns are biip's, check digits and dates
are made by the rules of the GS1 General Specifications (7.9, 3.4).
"""
import random
import re

from biip.gs1_application_identifiers import _GS1_APPLICATION_IDENTIFIERS as TABLE

GS = "\x1d"
DATES = {"11", "12", "13", "15", "16", "17", "4324", "4325", "4326", "7003", "7006", "7007", "7011", "8008"}
# AI: (first digit, check digit) of the part that a GS1 check digit closes.
KEYS = {
    "00": (0, 17), "01": (0, 13), "02": (0, 13), "03": (0, 13), "402": (0, 16), "8003": (0, 13),
    "8006": (0, 13), "8017": (0, 17), "8018": (0, 17), "8026": (0, 13), "253": (0, 12), "255": (0, 12),
    **{f"41{n}": (0, 12) for n in range(8)},
}
# What a procedure room's labels carry, drawn more often than the rest.
COMMON = ["01", "10", "11", "17", "21", "30", "37", "240", "241", "250", "7003", "710", "715", "8003", "8006", "8008", "422", "20"]


def check_digit(body):
    """GS1 General Specifications 7.9: weights 3 and 1 from the right."""
    total = sum(int(digit) * (3 if at % 2 == 0 else 1) for at, digit in enumerate(reversed(body)))
    return str(-total % 10)


class Maker:
    """A sequence of labels that is the same for the same seed."""

    def __init__(self, seed):
        self.random = random.Random(seed)
        self.parsed = {ai: re._parser.parse(row.pattern) for ai, row in TABLE.items()}
        self.codes = sorted(TABLE)

    def elements(self):
        """One to six elements with different AIs."""
        wanted = self.random.randint(1, 6)
        chosen = {self.random.choice(COMMON if self.random.random() < 0.6 else self.codes) for _ in range(wanted)}
        order = sorted(chosen)
        self.random.shuffle(order)
        return [(ai, self.value(ai)) for ai in order]

    def value(self, ai):
        """A value of the AI's format, with the check digits and dates that it needs."""
        value = self.text(self.parsed[ai])[len(ai):]
        if ai in DATES:
            day = self.random.randint(0 if ai in {"11", "12", "13", "15", "16", "17"} else 1, 28)
            value = f"{self.random.randint(0, 99):02}{self.random.randint(1, 12):02}{day:02}{value[6:]}"
            if ai == "7003":
                value = f"{value[:6]}{self.random.randint(0, 23):02}{self.random.randint(0, 59):02}"
        if ai in KEYS:
            first, at = KEYS[ai]
            value = value[:at] + check_digit(value[first:at]) + value[at + 1:]
        if ai in {"8006", "8026"}:
            total = self.random.randint(1, 99)
            value = f"{value[:14]}{self.random.randint(1, total):02}{total:02}"
        return value

    def text(self, pattern):
        """A text that the parsed pattern matches."""
        made = ""
        for kind, argument in pattern:
            name = str(kind)
            if name == "LITERAL":
                made += chr(argument)
            elif name == "IN":
                made += self.one_of(argument)
            elif name == "MAX_REPEAT":
                low, high, inner = argument
                # Short and full values are where readers err.
                count = self.random.choice([low, high, self.random.randint(low, high)])
                made += "".join(self.text(inner) for _ in range(count))
            elif name == "SUBPATTERN":
                made += self.text(argument[3])
            elif name == "BRANCH":
                made += self.text(self.random.choice(argument[1]))
            elif name != "AT":
                raise ValueError(f"no way to make {name}")
        return made

    def one_of(self, choices):
        kind, argument = self.random.choice(choices)
        if str(kind) == "CATEGORY":
            return self.random.choice("0123456789")
        return chr(argument if str(kind) == "LITERAL" else self.random.randint(*argument))

    def element_string(self, elements):
        """What a scanner delivers after the symbology identifier."""
        parts = [(ai + value, TABLE[ai].separator_required) for ai, value in elements]
        made = "".join(text + (GS if separated else "") for text, separated in parts)
        return made.rstrip(GS)

    def mutated(self, text):
        """One to two characters lost, doubled, exchanged or added."""
        characters = list(text)
        for _ in range(self.random.randint(1, 2)):
            at = self.random.randrange(len(characters))
            change = self.random.randrange(6)
            if change == 0 and len(characters) > 1:
                del characters[at]
            elif change == 1:
                characters.insert(at, characters[at])
            elif change == 2:
                other = self.random.randrange(len(characters))
                characters[at], characters[other] = characters[other], characters[at]
            elif change == 3:
                characters[at] = self.random.choice("0123456789")
            elif change == 4:
                characters[at] = self.random.choice("ABCxyz09-/%# ~")
            else:
                characters.append(self.random.choice("0123456789A"))
        return "".join(characters)
