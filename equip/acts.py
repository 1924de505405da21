"""The one vocabulary of acts: what can be said at the Bench, by card, by button or by typing.

To add an act: one line in `CARDS`, at the place where its button belongs, with a number that no
other card has; then its handler in `equip/desk/bench/handlers.py`. What is printed, read and
offered as a button follows from the two.
"""

from dataclasses import dataclass
from typing import Literal

Mode = Literal["", "lay-up", "use", "tell", "step", "pack", "store", "load", "take-out", "check"]
"""What a bench is doing: how it takes the next tag, and which buttons it offers."""

Group = Literal["check", "use", "soil", "step", "pack", "load", "mishap", "back"]


@dataclass(frozen=True, slots=True)
class Card:
    """One act: the *word* that is said and kept, and the number of the card that says it.

    A number is given for ever: the card on somebody's wall goes on meaning what it shows. The
    act's button stands there in each of *modes*, or, *with_item*, as long as an item was scanned
    before; an act without a button says why in *no_button*. Said twice at once it was meant twice
    if *each_counts*, else the scanner fired twice. *also* is what people type instead.
    """

    number: int
    word: str
    group: Group
    modes: tuple[Mode, ...] = ()
    with_item: bool = False
    no_button: str = ""
    each_counts: bool = False
    also: tuple[str, ...] = ()
    says: str = ""

    @property
    def label(self) -> str:
        """What its card and its button show: the word, unless *says* is plainer."""
        return self.says or self.word


_PATIENT: tuple[Mode, ...] = ("tell", "use")
_STEPS: tuple[Mode, ...] = ("", "step")
_BEGUN: tuple[Mode, ...] = ("tell", "use", "step", "pack", "store", "load", "take-out", "check")
_ANSWERS = "It answers a question of the bench; its button stands with that question."

GO_ON = "go on here"
"""Said by whoever looked at what is in hand, and works on with it."""

CARDS: tuple[Card, ...] = (
    Card(69, "check", "check", modes=("",)),
    Card(3, "lay up", "use", modes=("",), also=("layup",)),
    Card(4, "start a use", "use", modes=("tell",), also=("start",)),
    Card(8, "finish", "use", modes=_PATIENT),
    Card(87, "one more", "use", no_button=_ANSWERS, also=("more",)),
    Card(12, "left ear", "use", modes=_PATIENT, also=("left", "ear left")),
    Card(16, "right ear", "use", modes=_PATIENT, also=("right", "ear right")),
    Card(18, "both ears", "use", modes=_PATIENT, also=("both", "ear both")),
    Card(19, "soil", "use", modes=_PATIENT),
    Card(57, "oily", "soil", no_button=_ANSWERS),
    Card(58, "dry flakes", "soil", no_button=_ANSWERS, also=("flakes",)),
    Card(60, "blood", "soil", no_button=_ANSWERS),
    Card(62, "discharge", "soil", no_button=_ANSWERS),
    Card(11, "opened, not used", "use", modes=_PATIENT, also=("opened", "opened but not used")),
    Card(20, "tube touched scope", "mishap", modes=("use",)),
    Card(63, "used anyway", "use", no_button="Whoever sets a no aside says so in full words."),
    Card(34, "wipe", "step", modes=_STEPS),
    Card(35, "clean", "step", modes=_STEPS),
    Card(36, "rinse", "step", modes=("step",)),
    Card(38, "dry", "step", modes=("step",)),
    Card(39, "disinfect", "step", modes=_STEPS),
    Card(40, "inspect pass", "step", modes=_STEPS, also=("pass",)),
    Card(42, "inspect fail", "step", modes=_STEPS, also=("fail",)),
    Card(43, "pack", "pack", modes=_STEPS),
    Card(64, "count", "pack", modes=("pack",)),
    Card(84, "all there", "pack", no_button=_ANSWERS),
    Card(44, "store", "pack", modes=("",)),
    Card(49, "start the load", "load", modes=("load",), also=("start load",)),
    Card(50, "end the load", "load", modes=("load",), also=("end load",)),
    Card(54, "release", "load", modes=("load",)),
    Card(51, "run again", "load", modes=("load",), also=("again",)),
    Card(52, "take out", "load", modes=("load",)),
    Card(66, "fill the bath", "load", no_button="Its button stands with the answer to a bath."),
    Card(70, "good", "check", no_button=_ANSWERS, each_counts=True),
    Card(71, "session over", "check", modes=("check",)),
    Card(24, "dropped", "mishap", with_item=True),
    Card(26, "blocked", "mishap", with_item=True),
    Card(27, "bent", "mishap", with_item=True),
    Card(28, "image fault", "mishap", with_item=True),
    Card(55, "wet pack", "mishap", with_item=True, also=("wet",)),
    Card(56, "torn pack", "mishap", with_item=True, also=("torn",)),
    Card(65, "unpack", "mishap", no_button="It is seldom wanted: its card or its word says it."),
    Card(68, "indicator not turned", "mishap", with_item=True),
    Card(85, "missing", "mishap", with_item=True, says="a piece is missing"),
    Card(86, "found", "mishap", no_button="Its button stands with what is missing."),
    Card(32, "I was hurt", "mishap", with_item=True, also=("hurt",)),
    Card(46, "undo", "back", modes=_BEGUN, each_counts=True),
    Card(89, "take it back", "back", no_button=_ANSWERS),
    Card(90, "other patients too", "back", no_button=_ANSWERS),
    Card(92, "earlier", "back", modes=("", "tell", "use", "step")),
    Card(93, "now", "back", no_button="It ends what “earlier” began; its button stands with it."),
    Card(47, "move to another patient", "back", modes=("tell",), also=("move",)),
    Card(
        88,
        GO_ON,
        "back",
        no_button="Its button stands with the answer that says what changed.",
        also=("go on",),
    ),
    Card(48, "start over", "back", modes=("lay-up", *_BEGUN)),
)
"""Every act, in the order of the buttons; printed cards go by their numbers."""


def buttons(mode: Mode) -> tuple[Card, ...]:
    """What may be said while the bench is doing *mode*, for those without cards at hand."""
    return tuple(card for card in CARDS if mode in card.modes)


def buttons_with_item() -> tuple[Card, ...]:
    """What may be said of the item that was scanned last."""
    return tuple(card for card in CARDS if card.with_item)


def label(word: str) -> str:
    """What the card and the button of an act show; a button that is no act shows what it says."""
    return next((card.label for card in CARDS if card.word == word), word)


def each_counts(word: str) -> bool:
    """Whether *word* said twice in a moment was meant twice."""
    return any(card.each_counts for card in CARDS if card.word == word)


def words(group: Group) -> tuple[str, ...]:
    """The words of one group."""
    return tuple(card.word for card in CARDS if card.group == group)


def spoken() -> dict[str, str]:
    """Everything that may be said or typed for an act, in small letters, and the act's word."""
    return {said.lower(): card.word for card in CARDS for said in (card.word, *card.also)}
