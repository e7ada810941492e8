"""Starting from a recovery plan: one button a plan, whose values are then to be confirmed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from opnote.desk.desk import Desk
from opnote.desk.field_row import label_width
from opnote.desk.flow import FlowLayout
from opnote.pack.form import Page
from opnote.pack.pack import Pack, Plan
from opnote.pack.plan import first_page_of_plans, keep_to, plan_paths, start_from

_ANOTHER = "Replaces what an earlier plan filled and you did not confirm"
_SECOND = "Takes the stricter answer of both plans wherever you did not confirm or type one"


class PlanRow(QWidget):
    """The plans that the pack knows, on the first page that they fill.

    Once the page is filled they step back behind two buttons: to start from another plan, and to
    keep to a second one as well.
    """

    def __init__(self, page: Page, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._paths = [f.path for f in page.fields if f.path in plan_paths(desk.pack)]
        self._is_second = False
        self._buttons: list[tuple[QPushButton, Plan]] = []
        self._lead = QLabel("Start from", self)
        self._lead.setFixedWidth(label_width(self))
        self._lead.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        self._lead.setContentsMargins(0, 6, 0, 0)
        self._plans = QWidget(self)
        flow = FlowLayout(self._plans)
        for plan in desk.pack.plans:
            button = QPushButton(f"{plan.id.upper()}  {plan.title}", self._plans)
            button.setAutoDefault(False)
            button.setToolTip(f"For {plan.suits}")
            button.setAccessibleDescription(f"For {plan.suits}")
            button.clicked.connect(self._on_plan_clicked)
            flow.addWidget(button)
            self._buttons.append((button, plan))
        self._neither = QPushButton("none of them", self._plans)
        self._neither.setAutoDefault(False)
        self._neither.setAccessibleName("Leave the plan as it is")
        self._neither.clicked.connect(self._on_neither_clicked)
        self._neither.setVisible(False)
        flow.addWidget(self._neither)
        self._after = QWidget(self)
        self._second = self._button("a second plan as well", _SECOND)
        self._second.setAccessibleName("Keep to a second plan as well")
        self._second.clicked.connect(self._on_second_clicked)
        self._another = another = self._button("another plan", _ANOTHER)
        another.setAccessibleName("Start from another plan")
        another.clicked.connect(self._on_another_clicked)
        beside = FlowLayout(self._after)
        beside.addWidget(self._second)
        beside.addWidget(another)
        self._after.setVisible(False)
        right = QVBoxLayout()
        right.setSpacing(4)
        right.addWidget(self._plans)
        right.addWidget(self._after)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 6)
        line.setSpacing(12)
        line.addWidget(self._lead, 0, Qt.AlignmentFlag.AlignTop)
        line.addLayout(right, 1)
        self._name_buttons()

    @staticmethod
    def is_for(page: Page, pack: Pack) -> bool:
        """True on the first page that a plan fills."""
        return bool(pack.plans) and page.id == first_page_of_plans(pack)

    def controls(self) -> list[QWidget]:
        """What Tab visits, in order."""
        plans = (button for button, _ in self._buttons)
        return [*plans, self._neither, self._second, self._another]

    def refresh(self) -> None:
        """The case has changed: the plans step back once the page is filled."""
        filled = self._is_filled
        if filled is self._after.isHidden():
            self._show_plans(not filled, is_second=False)

    @property
    def _is_filled(self) -> bool:
        return any(path in self._desk.state.record.values for path in self._paths)

    def _button(self, text: str, tip: str) -> QPushButton:
        button = QPushButton(text, self._after)
        button.setAutoDefault(False)
        button.setToolTip(tip)
        button.setAccessibleDescription(tip)
        return button

    def _name_buttons(self) -> None:
        for button, plan in self._buttons:
            act = "Keep as well to" if self._is_second else "Start from"
            button.setAccessibleName(f"{act} plan {plan.id.upper()}, {plan.title}")

    def _show_plans(self, are_shown: bool, *, is_second: bool) -> None:
        self._is_second = is_second
        self._name_buttons()
        if are_shown:
            self._lead.setText("Keep to as well" if is_second else "Start from")
        else:
            self._lead.setText("Use")
        self._neither.setVisible(self._is_filled)
        self._plans.setVisible(are_shown)
        self._after.setVisible(not are_shown)

    def _on_another_clicked(self) -> None:
        self._show_plans(True, is_second=False)
        self._buttons[0][0].setFocus()

    def _on_second_clicked(self) -> None:
        self._show_plans(True, is_second=True)
        self._buttons[0][0].setFocus()

    def _on_neither_clicked(self) -> None:
        self._show_plans(False, is_second=False)
        self._second.setFocus()

    def _on_plan_clicked(self) -> None:
        plan = next(plan for button, plan in self._buttons if button is self.sender())
        make = keep_to if self._is_second else start_from
        self._show_plans(False, is_second=False)
        self._desk.apply(make(plan, self._desk.pack), None)
        self._second.setFocus()
