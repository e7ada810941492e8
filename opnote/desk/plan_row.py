"""Starting from a recovery plan: one button a plan, whose values are then to be confirmed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.field_row import LABEL_CHARACTERS
from opnote.desk.flow import FlowLayout
from opnote.pack.form import Page
from opnote.pack.pack import Pack, Plan
from opnote.record import Edit, Value, set_values
from opnote.record.record import Origin, Record


def first_page_of_plans(pack: Pack) -> str:
    """The first page with a field that a plan fills; "" when there are no plans."""
    filled = plan_paths(pack)
    for page in pack.form.pages:
        if any(field.path in filled for field in page.fields):
            return page.id
    return ""


def plan_paths(pack: Pack) -> frozenset[str]:
    """Every path that some plan fills."""
    return frozenset(path for plan in pack.plans for path in plan.values)


def start_from(plan: Plan, pack: Pack) -> Edit:
    """Fill what is empty, or what an earlier plan filled and nobody confirmed; one step."""
    paths = plan_paths(pack)
    label = f"Start from {plan.id.upper()}"

    def apply(record: Record) -> Record:
        preset = {
            p for p in paths if record.origin(p) is Origin.PRESET and record.is_unconfirmed(p)
        }
        emptied = record.with_changes(
            values={p: v for p, v in record.values.items() if p not in preset},
            origins={p: o for p, o in record.origins.items() if p not in preset},
        )
        wanted = _fitting(plan, pack, emptied)
        return set_values(wanted, label, Origin.PRESET).apply(emptied)

    return Edit(label, tuple(paths), apply)


def _fitting(plan: Plan, pack: Pack, record: Record) -> dict[str, Value]:
    """The values of a plan for fields that are empty, and exist once the plan is filled in."""
    wanted = {
        path: value
        for path, value in plan.values.items()
        if path not in record.values
        and (field := pack.field_at(path)) is not None
        and not field.never_preset
    }
    hidden = pack.view(set_values(wanted, "", Origin.PRESET).apply(record)).hidden
    return {path: value for path, value in wanted.items() if path not in hidden}


class PlanRow(QWidget):
    """The plans that the pack knows, on the first page that they fill."""

    def __init__(self, page: Page, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._paths = [f.path for f in page.fields if f.path in plan_paths(desk.pack)]
        self._buttons: list[tuple[QPushButton, Plan]] = []
        lead = QLabel("Start from", self)
        lead.setFixedWidth(theme.columns(self, LABEL_CHARACTERS))
        lead.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        lead.setContentsMargins(0, 6, 0, 0)
        self._plans = QWidget(self)
        flow = FlowLayout(self._plans)
        for plan in desk.pack.plans:
            button = QPushButton(f"{plan.id.upper()}  {plan.title}", self._plans)
            button.setAutoDefault(False)
            button.setToolTip(f"For {plan.suits}")
            button.setAccessibleName(f"Start from plan {plan.id.upper()}, {plan.title}")
            button.setAccessibleDescription(f"For {plan.suits}")
            button.clicked.connect(self._on_plan_clicked)
            flow.addWidget(button)
            self._buttons.append((button, plan))
        self._again = QPushButton("another plan", self)
        self._again.setAutoDefault(False)
        self._again.setAccessibleName("Start from another plan")
        self._again.setToolTip("Replaces what an earlier plan filled and you did not confirm")
        self._again.clicked.connect(self._on_again_clicked)
        self._again.setVisible(False)
        right = QVBoxLayout()
        right.setSpacing(4)
        right.addWidget(self._plans)
        right.addWidget(self._again, 0, Qt.AlignmentFlag.AlignLeft)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 6)
        line.setSpacing(12)
        line.addWidget(lead, 0, Qt.AlignmentFlag.AlignTop)
        line.addLayout(right, 1)

    @staticmethod
    def is_for(page: Page, pack: Pack) -> bool:
        """True on the first page that a plan fills."""
        return bool(pack.plans) and page.id == first_page_of_plans(pack)

    def refresh(self) -> None:
        """The case has changed: the plans step back once the page is filled."""
        filled = any(path in self._desk.state.record.values for path in self._paths)
        if filled is self._again.isHidden():
            self._again.setVisible(filled)
            self._plans.setVisible(not filled)

    def _on_again_clicked(self) -> None:
        self._again.setVisible(False)
        self._plans.setVisible(True)
        self._buttons[0][0].setFocus()

    def _on_plan_clicked(self) -> None:
        plan = next(plan for button, plan in self._buttons if button is self.sender())
        self._desk.apply(start_from(plan, self._desk.pack), None)
        self._plans.setVisible(False)
        self._again.setVisible(True)
        self._again.setFocus()
