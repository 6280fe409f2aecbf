"""The steps of a task at a terminal, and what was written of them."""

from __future__ import annotations

from hygiene.acts.how import How
from hygiene.acts.signing import Signed
from hygiene.cli.desk import Desk, written
from hygiene.cli.screen import folded
from hygiene.kinds.entry import items
from hygiene.kinds.words import gist
from hygiene.rota.judging import limits, what_to_do
from hygiene.rota.signing import Answered, Ask, NotAnAnswer, read_answer, wanted


def ask_all(asked: list[Ask], width: int) -> list[Answered]:
    """Ask each question in turn."""
    return [
        _ask(f"{place}/{len(asked)} ", ask, width) for place, ask in enumerate(asked, 1)
    ]


def _ask(place: str, ask: Ask, width: int) -> Answered:
    of = f" [{ask.of}]" if ask.of else ""
    hint = wanted(ask) if ask.sort == "choice" else limits(ask.step) or wanted(ask)
    print(folded(f"{place}{ask.step.get('text')}{of}", width))
    while True:
        shown = f"{hint}, Enter for {ask.default}" if ask.default else hint
        text = input(f"{folded(f'   ({shown})', width)}: ").strip() or ask.default or ""
        try:
            answered = read_answer(ask, text)
        except NotAnAnswer as fault:
            print(folded(f"   {fault}", width))
            continue
        if answered.answer.passed:
            return answered
        print(folded(f"   OUT OF LIMIT. {what_to_do(ask.step)}", width))
        did = input("   What did you do about it? (Enter: nothing yet): ").strip()
        return read_answer(ask, text, did or None)


def tell(done: Signed) -> None:
    """Say what a signing wrote, and what must be put right."""
    if done.already:
        print(f"Already recorded as {done.sign_off.name}: {gist(done.sign_off)}")
        return
    for entry in (done.sign_off, *done.finds, *done.actions):
        written(entry, f"{entry.kind.replace('_', ' ')}: {gist(entry)}")
    if done.actions:
        first = done.actions[0].name
        if "untrained" in (items(done.sign_off, "marks")):
            by = done.sign_off.by
            print(f"If {by} has been taught it: hygiene train {by} TOPIC --on DATE")
        print(f"Put it right, then: hygiene recheck {first} --seen TEXT --passed")


def tell_mould(desk: Desk, done: Signed, how: How) -> None:
    """What a find means at once, told as ``hygiene mould`` tells it."""
    if not done.mould:
        return
    from hygiene.cli.finds import after_proposals, caution, eaten_by

    for found in done.mould:
        caution(found.batches or (str(found.mould.get("rack")),))
        eaten_by(found.out)
        after_proposals(desk, found.mould, found.proposed, how, False)
