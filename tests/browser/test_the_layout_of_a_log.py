"""A layout described in a real browser: what it makes of a log is shown with each change."""

import pytest
from playwright.sync_api import Page, expect

from equip.store.readings import log_rows
from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import sign_in
from tests.support.machine_logs import JSON, machine_log

pytestmark = pytest.mark.browser


def test_the_preview_follows_the_form_and_the_whole_is_kept(page: Page, served: Served) -> None:
    play = served.play
    machine = play.add("steriliser-vacuum", serial="SN-77")
    sign_in(page, served, "Mo Reed")
    page.goto(f"{served.address}/setup/logs/{machine}")
    seen = page.locator("#seen")
    log = {
        "name": "41.log",
        "mimeType": "text/plain",
        "buffer": machine_log("0041", began=play.clock.now),
    }

    page.set_input_files("#layout [name=log]", log)  # type: ignore[arg-type]
    expect(seen).to_contain_text("Line 1 reads “Serial;SN 77”")
    page.select_option("[name=delimiter]", "semicolon")
    page.select_option("[name=decimal]", "comma")
    page.fill("[name=skip]", "3")
    expect(seen).to_contain_text("no column “seconds”")
    page.fill("[name=time]", "Time")
    page.select_option("[name=time_as]", "stamp")
    page.fill("[name=date]", "Date")
    page.select_option("[name=date_order]", "dmy")
    page.fill("[name=zone]", "Europe/London")
    page.fill("[name=probes]", "chamber °c")
    page.fill("[name=pressure]", "Chamber bar")
    page.select_option("[name=pressure_unit]", "bar")
    expect(seen).to_contain_text("END")
    page.fill("[name=until]", "END")
    expect(seen).to_contain_text("looks like gauge pressure")
    page.select_option("[name=gauge]", "yes")
    page.fill("[name=cycle_key]", "Cycle")
    page.fill("[name=machine_key]", "Serial")
    page.fill("[name=probes]", "Chamber °C")
    expect(seen).to_contain_text("It reads to its end")
    expect(seen).to_contain_text("Cycle number: 0041")
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    page.fill("[name=reason]", "a new controller")
    page.get_by_role("button", name="Read its logs so from now on").click()
    expect(page.get_by_role("status").first).to_contain_text("from now on")

    assert log_rows.layout_of(play.clinic.store, machine) == JSON


def test_of_a_large_log_only_the_beginning_is_looked_at_until_it_is_kept(
    page: Page, served: Served
) -> None:
    machine = served.play.add("steriliser-vacuum")
    sign_in(page, served, "Mo Reed")
    page.goto(f"{served.address}/setup/logs/{machine}")
    rows = "".join(f"{second},20.0,101.3\n" for second in range(160_000))

    page.set_input_files(
        "#layout [name=log]",
        {
            "name": "day.csv",
            "mimeType": "text/csv",
            "buffer": f"seconds,celsius,kpa\n{rows}".encode(),
        },
    )

    expect(page.locator("#seen")).to_contain_text("Its first lines read well.")
    assert len(rows) > 2 * 1024 * 1024
