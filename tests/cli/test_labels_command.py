"""Labels: every QR code is read back from the page by another program (ZXing)."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from pdf_checks import faults
from PIL import Image
from sprout_farm import SproutFarm

from hygiene.kinds.codes import scannable

DPI = 150


def pictures(path: Path, dpi: int = DPI) -> list[Image.Image]:
    """The pages in grey, as a cheap printer and a phone see them."""
    document = pypdfium2.PdfDocument(path)
    try:
        return [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]
    finally:
        document.close()


def scanned(path: Path, dpi: int = DPI) -> list[str]:
    return [
        found.text
        for picture in pictures(path, dpi)
        for found in zxingcpp.read_barcodes(picture)
    ]


def labels(run, farm: SproutFarm, *words: str):
    return run("labels", *words, world=farm.world())


def made(run, farm: SproutFarm, folder: Path, *words: str) -> tuple[dict, Path]:
    done = labels(run, farm, *words, "--out", str(folder / "l.pdf"), "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.output), folder / "l.pdf"


@pytest.fixture
def stocked(sprouts: SproutFarm) -> SproutFarm:
    """With a lot and a batch, whose codes are minted."""
    sprouts.batch()
    return sprouts


def test_every_code_is_read_back_from_the_page(run, stocked, tmp_path) -> None:
    """Trays, racks, lines, lots, batches, in grey at 150 dots to the inch."""
    words = ("T001..T010", "racks", "lines", "lots", "batches")
    told, path = made(run, stocked, tmp_path, *words)
    assert len(told["codes"]) == told["labels"] == 10 + 3 + 2 + 1 + 1
    assert sorted(scanned(path)) == sorted(map(scannable, told["codes"]))
    assert faults(path.read_bytes()) == []


def test_containers_are_labelled_by_what_they_hold(run, doses, tmp_path) -> None:
    """A can's label bears its product's name; what is empty is left out."""
    run(
        "container", "hypo", "--size", "5 L", "--maker-batch", "H1", "--by", "AB",
        world=doses.world(),
    )  # fmt: skip
    told, path = made(run, doses, tmp_path, "containers")
    assert scanned(path) == [scannable(code) for code in told["codes"]]
    assert len(told["codes"]) >= 1


def test_it_survives_a_printer_without_greys(run, stocked, tmp_path) -> None:
    """Brought down to black and white, and to four greys."""
    told, path = made(run, stocked, tmp_path, "T001..T006", "batches")
    (page,) = pictures(path)
    for shades in (2, 4):
        crude = page.quantize(shades).convert("L")
        found = {each.text for each in zxingcpp.read_barcodes(crude)}
        assert found == set(map(scannable, told["codes"]))


def test_the_smallest_that_is_allowed_is_read(run, stocked, tmp_path) -> None:
    """Modules of 0.4 mm at 150 dots to the inch; a hair less is refused."""
    grid = ("--grid", "5x19", "--margin", "5mm", "--gap", "1mm")
    told, path = made(run, stocked, tmp_path, "T001..T020", *grid)
    assert sorted(scanned(path)) == sorted(map(scannable, told["codes"]))
    refused = labels(run, stocked, "T001", "--grid", "5x22", *grid[2:])
    assert refused.exit_code == 2
    assert "11.6 mm each way (29 modules of 0.4 mm" in refused.stderr
    assert "will do" in refused.stderr


@pytest.mark.parametrize(
    ("given", "size"), [("A4", (210, 297)), ("a6", (105, 148)), ("B5", (176, 250))]
)
def test_the_paper_is_that_of_its_iso_name(run, stocked, tmp_path, given, size):
    """ISO 216, to half a millimetre; in either case of letters."""
    _, path = made(run, stocked, tmp_path, "R1", "--paper", given, "--grid", "1x2")
    document = pypdfium2.PdfDocument(path)
    points = document[0].get_size()
    document.close()
    assert points == pytest.approx([mm * 72 / 25.4 for mm in size], abs=0.5)


def test_labels_stand_where_the_grid_has_them(run, stocked, tmp_path) -> None:
    """Skipped ones stay free, columns fill first, margin and gap are kept."""
    grid = ("--grid", "2x4", "--margin", "10mm,5mm", "--gap", "4mm,2mm")
    told, path = made(run, stocked, tmp_path, "T001..T008", *grid, "--skip", "5")
    assert told["sheets"] == 2
    places = []
    for picture in pictures(path):
        for found in zxingcpp.read_barcodes(picture):
            corner = found.position.top_left
            mm = [point * 25.4 / DPI for point in (corner.x, corner.y)]
            # 99 by 66.25 mm each, from (5, 10) on
            cell = (int((mm[0] - 5) // 101), int((mm[1] - 10) // 70.25))
            places.append((found.text[4:8], *cell))
    assert sorted(places) == [
        ("T001", 1, 2), ("T002", 0, 3), ("T003", 1, 3),
        ("T004", 0, 0), ("T005", 1, 0), ("T006", 0, 1), ("T007", 1, 1),
        ("T008", 0, 2),
    ]  # fmt: skip


def test_copies_stand_beside_each_other(run, stocked, tmp_path) -> None:
    """Two of each; a thing that is named twice is labelled once."""
    words = ("R1", "r1", "R2", "--copies", "2", "--html")
    told, path = made(run, stocked, tmp_path, *words)
    assert told["labels"] == 4
    page = path.read_text("utf-8")
    assert page.count("QR code of R1") == page.count("QR code of R2") == 2


def test_letters_show_the_check_character(run, stocked, tmp_path) -> None:
    """For whoever types it: T001*F; a minted code has it within."""
    made(run, stocked, tmp_path, "T001", "batches", "--html")
    page = (tmp_path / "l.pdf").read_text("utf-8")
    assert scannable("T001").partition(":")[2] in page
    assert page.count("*") >= 1


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("T001", "--grid", "3"), 2, "write columns and rows as 3x8"),
        (("T001", "--grid", "0x4"), 2, "write columns and rows"),
        (("T001", "--paper", "Letter"), 2, "the papers are A3, A4"),
        (("T001", "--margin", "wide"), 2, "write it as --margin 8mm"),
        (("T001", "--margin", "150mm"), 2, "leave no room"),
        (("T001", "--skip", "24"), 2, "--skip runs from 0 to 23"),
        (("T001", "--skip", "-1"), 2, "--skip runs from 0 to 23"),
        (("T001", "--copies", "0"), 2, "copies run from 1"),
        (("T001", "--grid", "9x30"), 2, "too small for T001"),
        (("T00L",), 4, "did you mean T0"),
        (("nothing",), 4, "give trays, racks"),
        (("containers",), 4, "there is nothing to label"),
    ],
)
def test_labels_that_cannot_be_made_are_said(run, sprouts, tmp_path, words, code, said):
    """In words, with what to type instead; no file is left."""
    done = labels(run, sprouts, *words, "--out", str(tmp_path / "x.pdf"))
    assert done.exit_code == code, done.stderr
    assert said in done.stderr
    assert not (tmp_path / "x.pdf").exists()


def test_a_scanned_label_is_taken_wherever_a_code_is(run, stocked) -> None:
    """On the line of a command, in a range, with the newline that a scanner sends."""
    with stocked.open() as record:
        (sown,) = record.entries(["sow"])
    batch = str(sown.get("batch"))
    plain = run("trace", batch, world=stocked.world())
    held = run("trace", f"{scannable(batch).lower()}\n", world=stocked.world())
    assert (held.exit_code, held.output) == (plain.exit_code, plain.output)
    rack = scannable("R1")
    words = ("--trays", f"{scannable('T001')}..{scannable('T002')}", "--by", "AB")
    found = run("mould", rack, *words, world=stocked.world())
    assert found.exit_code == 3
    with stocked.open() as record:
        (mould,) = record.entries(["mould"])
    assert (mould.get("rack"), mould.get("trays")) == ("R1", ["T001", "T002"])


def test_a_label_that_was_misread_is_refused(run, stocked) -> None:
    """Exit code 2: the check character does not fit."""
    wrong = scannable("R1").replace("R1", "R2")
    done = run("mould", wrong, "--by", "AB", world=stocked.world())
    assert done.exit_code == 2
    assert "does not fit" in done.stderr
