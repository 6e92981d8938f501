"""The style sheet of the widgets, kept small: the palette says the rest."""

from functools import lru_cache

from app.theme_looks import COLOURS, NAMES, ThemeName
from core.resources import folder


@lru_cache(maxsize=len(NAMES))
def stylesheet(name: ThemeName) -> str:
    """The little that the palette cannot say: quiet edges, even spacing."""
    c = COLOURS[name]
    tick = (folder() / "icons" / f"check-{name}.svg").as_posix()
    return f"""
QToolTip {{ color: {c["ink"]}; background: {c["base"]}; border: 1px solid {c["edge"]}; padding: 4px 6px; }}
QMainWindow::separator {{ background: {c["edge"]}; width: 1px; height: 1px; }}
QDockWidget {{ font-weight: 600; }}
QDockWidget::title {{ background: {c["window"]}; padding: 7px 10px 5px 10px; }}
QAbstractItemView {{ border: none; outline: none; background: {c["base"]};
    alternate-background-color: {c["alternate"]}; }}
QAbstractItemView::item {{ padding: 3px 4px; }}
QAbstractItemView::item:hover {{ background: {c["hovered"]}; }}
QHeaderView::section {{ background: {c["window"]}; color: {c["muted"]}; border: none;
    border-bottom: 1px solid {c["edge"]}; padding: 4px 6px; }}
QToolBar {{ border: none; spacing: 2px; padding: 4px 6px; background: {c["window"]}; }}
QToolButton {{ border: 1px solid transparent; border-radius: 5px; padding: 5px 9px; }}
QToolButton:hover {{ background: {c["hovered"]}; }}
QToolButton:checked {{ background: {c["base"]}; border-color: {c["edge"]}; }}
QToolButton:focus {{ border-color: {c["accent"]}; }}
QStatusBar {{ background: {c["window"]}; color: {c["muted"]}; border-top: 1px solid {c["edge"]}; }}
QStatusBar::item {{ border: none; }}
QLineEdit, QComboBox, QAbstractSpinBox {{ background: {c["base"]}; border: 1px solid {c["edge"]};
    border-radius: 4px; padding: 3px 6px; min-height: 18px; selection-background-color: {c["accent"]}; }}
QLineEdit:focus, QComboBox:focus, QAbstractSpinBox:focus {{ border-color: {c["accent"]}; }}
QCheckBox {{ spacing: 8px; }}
QCheckBox::indicator, QAbstractItemView::indicator {{ width: 15px; height: 15px;
    border: 1px solid {c["muted"]}; border-radius: 4px;
    background: {c["base"]}; }}
QCheckBox::indicator:hover, QCheckBox::indicator:focus {{ border-color: {c["accent"]}; }}
QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {{ background: {c["accent"]};
    border-color: {c["accent"]}; image: url("{tick}"); }}
QScrollBar:vertical {{ background: transparent; width: 11px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 11px; margin: 0; }}
QScrollBar::handle {{ background: {c["grid_strong"]}; border-radius: 4px; margin: 2px;
    min-width: 28px; min-height: 28px; }}
QScrollBar::handle:hover {{ background: {c["muted"]}; }}
QScrollBar::add-line, QScrollBar::sub-line, QScrollBar::add-page, QScrollBar::sub-page {{ background: none;
    border: none; width: 0; height: 0; }}
QMenu {{ background: {c["base"]}; border: 1px solid {c["edge"]}; padding: 4px; }}
QMenu::item {{ padding: 5px 22px 5px 12px; border-radius: 4px; }}
QMenu::item:selected {{ background: {c["hovered"]}; color: {c["ink"]}; }}
QMenu::separator {{ height: 1px; background: {c["edge"]}; margin: 4px 8px; }}
"""
