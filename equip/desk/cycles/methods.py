"""How every figure is worked out: formula, unit, source, and the rules in force today."""

from dataclasses import dataclass
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.rulebook import Rule


@dataclass(frozen=True, slots=True)
class Method:
    """One figure. *rules* are the ids of the rules that it uses, or how they begin."""

    name: str
    unit: str
    formula: str
    source: str
    rules: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MethodShown:
    """A method with the rules it uses as they are in force."""

    method: Method
    rules: tuple[Rule, ...]


METHODS = (
    Method(
        "Holding time",
        "s",
        "The longest unbroken run of readings with every probe in the band, last less first "
        "reading. A run exactly as long as required passes. A hole in the log is never bridged.",
        "HTM 01-01 Part C and EN 285, from memory: it begins with the slowest probe.",
        ("steam-134.", "steam-121.", "steam.hole-"),
    ),
    Method(
        "Saturation temperature",
        "°C and kPa absolute",
        "IAPWS-IF97, region 4, both ways.",
        "IAPWS R7-97(2012), checked against its tables 35 and 36.",
    ),
    Method(
        "Saturation temperature less chamber",
        "K",
        "Saturation temperature at the measured pressure less the reference probe, over the "
        "holding time. Above nought: air or gas that does not condense. Below: superheat, or a "
        "sensor that is off.",
        "EN 285 clause 8.3; HTM 01-01 Part C; from memory.",
        ("steam.theory-gap",),
    ),
    Method(
        "Equilibration time",
        "s",
        "From the reference probe's first reading in the band to the slowest probe's.",
        "EN 285 clause 8.3, by chamber size; from memory.",
        ("steam.equilibration-",),
    ),
    Method(
        "Spread between probes",
        "K",
        "Hottest less coldest probe at each reading of the holding time, the widest.",
        "EN 285, EN 13060, HTM 2010; from memory.",
        ("steam.spread",),
    ),
    Method(
        "F0, supporting evidence only",
        "min",
        "Trapezoid of 10^((T − Tref) ÷ z) over time, T the coldest probe. It never passes a cycle "
        "that the band fails.",
        "Ph. Eur. 5.1.5; USP <1229.2>. Tref is stored with each judgement.",
        ("steam.f0-",),
    ),
    Method(
        "A0",
        "s",
        "Trapezoid of 10^((T − 80) ÷ 10) over time, counted from the moment the straight line "
        "between two readings crosses 65 °C.",
        "ISO 15883-1 Annex B.",
        ("a0.",),
    ),
    Method(
        "Whether a chemical indicator suits a programme",
        "°C and s",
        "It suits if the temperature and the time that its packet states are not above the "
        "programme's lowest temperature and holding time; a type 6 must state that temperature. "
        "One that suits and did not turn, or is unclear, stops the release; one that does not "
        "suit says nothing. The verdict of the log stays as it is.",
        "ISO 11140-1 for the types, as its users summarise it; CDC 2008 for one that failed.",
        ("indicator.",),
    ),
    Method(
        "Result of a spore test",
        "negative, positive or invalid",
        "Invalid if its lot was past its day, its control did not grow or is missing where one is "
        "asked for, or it was read ahead of the hours on its packet; else positive if spores grew, "
        "negative if none did. It is late once the hours on its packet, or those of the rule, "
        "have passed since its cycle.",
        "CDC 2003 items F.6 and F.7; the hours are the maker's, or of this house.",
        ("spore.control", "spore.read-", "test.spore."),
    ),
    Method(
        "Loads in doubt after a positive spore test",
        "loads",
        "Steam: none by one positive alone; if a repeat is positive or a defect is found, every "
        "load after the last negative test before it. Other processes: from the load after the "
        "last negative test up to the one before the next. Loads with wrong settings always. The "
        "machine is used again once so many repeats in a row, run after the positive was known, "
        "are negative. An invalid test closes nothing.",
        "CDC Guideline for Disinfection and Sterilization 2008, Table 12.",
        ("spore.negatives-",),
    ),
    Method(
        "Beside the reference cycle",
        "of the figure",
        "Stages by turning points: the pressure turns where it goes so far the other way; air "
        "removal runs from the first fall to the end of the last vacuum, heating from there (or "
        "from the last cool reading) to the holding time, venting and drying by levels; a "
        "washer’s stages by its falls. Figure less that of the cycle a manager chose for this "
        "machine and programme; for heating and drying the reference is moved along the line "
        "below to as many things as here. Curve of the heating: at each share of it, how far "
        "outside all that the reference had within so many seconds. Beyond the tolerance it is "
        "a question before release, never a verdict.",
        "Our own method. Nothing published gives tolerances: each machine has its own.",
        ("stages.", "likeness."),
    ),
    Method(
        "What a load’s size lets be expected",
        "s",
        "Line by Theil and Sen: slope, the median of (s₂ − s₁) ÷ (n₂ − n₁) over all pairs of "
        "cycles of different size; base, the median of s − slope × n; n the packs, sets and "
        "single things put in, s the seconds of heating, or of drying. Usual: line ± the larger "
        "of a least width and k × 1.4826 × median distance from the line. Cycles: the machine’s "
        "own of the programme that passed and were released. Nothing is said where they are too "
        "few or too alike, or where size makes no more difference than chance. “Like so many”: "
        "(s − base) ÷ slope.",
        "Our own method, with the median of pairwise slopes of Theil (1950) and Sen (1968), from "
        "memory. Things are not kilograms: it tells of many and few.",
        ("load-size.",),
    ),
    Method(
        "Pulses and drying",
        "times, kPa absolute, s",
        "Before the holding time: how often the pressure fell to the machine's vacuum, having been "
        "at its steam pressure in between. After it: the lowest pressure, and the longest unbroken "
        "run at the machine's drying pressure or less. Only by limits of the machine's type.",
        "The machine's maker or its validation; no figure of it is published.",
        ("steam.hole-",),
    ),
    Method(
        "Flush and wash",
        "°C",
        "Steady parts of the log before the disinfection: the warmest is the wash, the first "
        "before it the flush; the middle one of its readings. By limits of the machine's type.",
        "Our own rule; SHTM 2030, as taught, has a flush below 35 °C and a wash of 60 to 65 °C.",
        ("thermal.steady-",),
    ),
    Method(
        "Leak rate",
        "kPa/min",
        "Rise of pressure ÷ minutes timed, in exact decimals, so that the limit itself passes.",
        "EN 285 clause 8.2.3; EN 13060.",
        ("leak.",),
    ),
    Method(
        "Usual range and drift",
        "of the figure",
        "Individuals: mean ± k × mean moving range ÷ d2. Moving average: λ of the value and the "
        "rest of the one before, limits k × s × √(λ ÷ (2 − λ)).",
        "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 and 6.3.2.4.",
        ("chart.",),
    ),
    Method(
        "Use by",
        "day, or hour of a scope",
        "The day of processing and so many days more, calendar days of the clinic; hours run "
        "from the end of the process and the limit itself still passes.",
        "By country and year: see the rules.",
        ("shelf.",),
    ),
    Method(
        "Contact time of a wipe",
        "s",
        "From the step to the next step of the thing, or to its use. It has to be as long as the "
        "lot states; exactly as long passes. Until then the thing is not fit.",
        "The packet of the lot: its maker's figure.",
        ("wipe.",),
    ),
    Method(
        "Soak",
        "min",
        "From the start to the end of the load as they were told, rounded down to a hundredth; "
        "at no less than the agent's temperature, on no later than its last day of use, with a "
        "strip that passed. The day the bath was filled is day 1.",
        "By agent: see the rules.",
        ("soak.", "test.strip."),
    ),
    Method(
        "Strength of a solution",
        "ppm by volume",
        "Stock in per cent × 10,000 × stock ÷ (stock + water), in exact fractions; volumes are "
        "told to a tenth of a millilitre.",
        "The definition of parts per million; volumes and no ratio, since 1:10 is read two ways.",
    ),
    Method(
        "Use to cleaning",
        "min",
        "From the end of the use, or the scan if nobody said finish, to the first wipe, clean or "
        "rinse.",
        "HICPAC 2016 essential elements: two stamps for each instrument.",
        ("wait.",),
    ),
    Method(
        "Next due day",
        "day",
        "Anchor and so many steps of the interval, counted from the anchor: month-ends never "
        "drift. What moves it on is the due day that was satisfied.",
        "Our own rule, checked against python-dateutil's relativedelta.",
    ),
    Method(
        "Conformity of a reading",
        "pass, conditional pass, conditional fail or fail",
        "Limits moved inwards by a share of the expanded uncertainty U: within them it passes; "
        "within the tolerance conditionally; beyond it by no more than that share it "
        "fails conditionally; else it fails. A reading on a limit is inside it. Probability: "
        "Φ((upper − reading) ÷ u) − Φ((lower − reading) ÷ u), u = U ÷ k.",
        "ILAC-G8:09/2019; JCGM 106:2012, 7.4.",
        ("conformity.",),
    ),
    Method(
        "Interval of calibration",
        "months",
        "Newest as-found error ÷ limit: within the share of the rule longer, beyond the limit "
        "shorter, else kept; bounded by floor and ceiling. Beside it a line of least squares "
        "through all results says when the limit would be reached.",
        "ILAC-G24, methods 1 and 2. The steps are the clinic’s.",
        ("interval.",),
    ),
    Method(
        "Electrical safety",
        "ohm and µA",
        "Protective earth by its cord, leakage by class and method, an applied part by its type. "
        "Of two readings with direct current the higher counts; the limit itself passes.",
        "IEC 62353:2014; the leakage limits from memory.",
        ("electrical.",),
    ),
    Method(
        "Conversion of units",
        "",
        "By the factors that define the units, in exact fractions: inch 25.4 mm, pound "
        "0.45359237 kg, standard gravity 9.80665 m/s², conventional mercury and water.",
        "NIST SP 811 for the definitions.",
    ),
    Method(
        "Share of uses traceable",
        "%",
        "Uses and openings with a load or step before them that passed, was released, and had "
        "every required step recorded ahead of it, ÷ all uses and openings.",
        "RACGP 2023 asks for the link from batch to patient; the share is our own figure.",
    ),
    Method(
        "Check character of a tag",
        "",
        "ISO/IEC 7064, MOD 37-2. Numbers whose check would be a star, or a letter that moves "
        "between keyboards or looks like a digit, are skipped.",
        "ISO/IEC 7064.",
    ),
    Method(
        "Seal of an entry",
        "",
        "SHA-256 over the seal before it, then “site position time” in ASCII, a line feed and "
        "the entry's bytes; time in microseconds since 1970, UTC.",
        "FIPS 180-4; bytes as RFC 8785 spells them.",
    ),
)


def methods(clinic: Clinic, now: datetime) -> list[MethodShown]:
    """Every method with the rules of today that it uses."""
    rules = clinic.house.rules(now)
    return [
        MethodShown(
            method,
            tuple(rules[name] for name in sorted(rules) if name.startswith(method.rules))
            if method.rules
            else (),
        )
        for method in METHODS
    ]
