"""Variants of the plan inside its file, and 24 V instead of 12 V."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from app.commands.action import Action
from app.commands.bench import Bench
from core.edits.records import delete, rename
from core.edits.variants import keep_variant, swap_variant
from core.errors import EditRefused
from core.model import Plan

if TYPE_CHECKING:
    from app.dialogs.variants import VariantsDialog
    from core.studies.variants import Comparison

#: The name under which the 24 V plan is kept.
ON_24V = "On 24 V"


def show_variants(bench: Bench) -> "VariantsDialog":
    from app.dialogs.variants import THIS, VariantsDialog

    def tried(label: str, edit: Callable[[Plan], Plan]) -> str:
        try:
            plan = edit(bench.plan)
        except EditRefused as refusal:
            return str(refusal)
        bench.session.commit(label, plan)
        return ""

    def keep(name: str) -> str:
        return tried("Keep variant", lambda plan: keep_variant(plan, name)[0])

    def switch(variant: str) -> str:
        name = next(each.name for each in bench.plan.variants if each.id == variant)
        told = tried(f"Switch to {name}", lambda plan: swap_variant(plan, variant))
        if not told:
            bench.say(f"“{name}” is the plan now; what was here is kept as “Before {name}”.")
        return told

    def renamed(variant: str, name: str) -> str:
        return tried("Rename variant", lambda plan: rename(plan, variant, name))

    def deleted(variant: str) -> str:
        return tried("Delete variant", lambda plan: delete(plan, [variant])[0])

    def volts() -> str:
        return derive_24v(bench, dialog)

    def compared(plan: Plan, answer: Callable[["Comparison"], None]) -> None:
        library = bench.library

        def job() -> "Comparison":
            from core.analysis.engine import analyse
            from core.studies.variants import compare

            rows = [(THIS, plan), *((variant.name, variant.plan) for variant in plan.variants)]
            return compare([(name, analyse(each, library, "quick")) for name, each in rows])

        bench.in_background(job, answer, lambda problem: bench.say(str(problem)))

    dialog = VariantsDialog(
        bench.window, lambda: bench.plan, keep, switch, renamed, deleted, volts, compared
    )  # fmt: skip
    dialog.open()
    return dialog


def derive_24v(bench: Bench, dialog: "VariantsDialog") -> str:
    """Keep the plan on 24 V as a variant; selected devices stay on 12 V. Why it cannot be, or ""."""
    from core.studies.variants import on_24v

    try:
        derived = on_24v(bench.plan, bench.selected("devices"))
        if not derived.changed:
            return "Nothing in this plan is on 12 V."
        plan, _ = keep_variant(bench.plan, ON_24V, derived.plan)
    except EditRefused as refusal:
        return str(refusal)
    bench.session.commit("24 V instead of 12 V", plan)
    count = len(derived.changed)
    told = [f"{count} things are for 24 V in it. Devices that are selected before stay on 12 V."]
    if derived.decide:
        told.append("To decide: " + " ".join(derived.decide))
    dialog.tell_changes("\n".join(told))
    return ""


def on_24_volts(bench: Bench) -> None:
    dialog = show_variants(bench)
    dialog.volts.click()


def _empty(bench: Bench) -> str:
    return "" if bench.plan.devices else "Place devices first: an empty plan has nothing to vary."


def _nothing_on_12v(bench: Bench) -> str:
    on_12v = any("dc12" in (d.electrical.system, d.electrical.output) for d in bench.plan.devices)
    return "" if on_12v else "Nothing in this plan is on 12 V."


ACTIONS = (
    Action("variants", "Variants…", "Circuits", show_variants, "Ctrl+Alt+V", _empty, parted=True,
           stages=("checks",)),
    Action("on-24v", "24 V instead of 12 V…", "Circuits", on_24_volts, "", _nothing_on_12v),
)  # fmt: skip
