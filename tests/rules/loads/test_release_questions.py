"""What is asked of whoever releases a load follows from what its machine does."""

import pytest

from equip.facts import Step
from equip.rules.loads.release_questions import questions


@pytest.mark.parametrize(
    ("steps", "wrapped", "bare", "codes"),
    [
        (("sterilise",), True, False, ["dry", "whole", "sealed", "turned"]),
        (("sterilise",), False, True, ["bare-dry"]),
        (("sterilise",), True, True, ["dry", "whole", "sealed", "turned", "bare-dry"]),
        (("clean", "rinse", "disinfect", "dry"), False, True, ["clean", "washed-dry"]),
        (("clean",), False, True, ["clean"]),
        (("disinfect",), False, True, ["covered"]),
    ],
)
def test_each_machine_has_its_own_questions(
    steps: tuple[Step, ...], wrapped: bool, bare: bool, codes: list[str]
) -> None:
    asked = questions(steps, wrapped=wrapped, bare=bare)

    assert [one.code for one in asked] == codes


def test_each_is_a_question_whose_yes_is_good() -> None:
    every = [
        *questions(("sterilise",), wrapped=True, bare=True),
        *questions(("clean", "disinfect", "dry"), wrapped=False, bare=True),
        *questions(("disinfect",), wrapped=False, bare=True),
    ]

    for one in every:
        assert one.says.startswith(("Is ", "Has ", "Does ", "Was ")) and one.says.endswith("?")
        assert not {"not", "wet", "torn", "no"} & set(one.says[:-1].split())
