"""Style of the panes' own widgets, on top of the theme's."""

from app.theme import Theme


def panel_stylesheet(theme: Theme) -> str:
    c = {
        name: theme.colour(name).name()
        for name in (
            "ink",
            "muted",
            "window",
            "base",
            "edge",
            "accent",
            "error",
            "hovered",
            "alternate",
            "warning_text",
        )
    }
    family = theme.widget_font().family()
    return f"""
QWidget {{ font-family: "{family}"; }}
#stageStrip {{ background: {c["window"]}; border-bottom: 1px solid {c["edge"]}; }}
QToolButton#stage {{ border: none; border-bottom: 3px solid transparent; border-radius: 0;
    padding: 7px 15px 6px 15px; font-size: 10.5pt; color: {c["muted"]}; background: transparent; }}
QToolButton#stage:hover {{ color: {c["ink"]}; }}
QToolButton#stage:checked {{ color: {c["ink"]}; font-weight: 600; border-bottom-color: {c["accent"]};
    background: transparent; }}
QToolButton#stage:focus {{ color: {c["accent"]}; }}
QToolBar#stageBar {{ background: {c["base"]}; border-bottom: 1px solid {c["edge"]}; padding: 4px 6px; spacing: 2px; }}
QToolBar#stageBar::separator {{ background: {c["edge"]}; width: 1px; margin: 5px 5px; }}
QToolBar#stageBar QToolButton {{ color: {c["ink"]}; padding: 5px 7px; }}
QToolBar#stageBar QToolButton:checked {{ background: {c["hovered"]}; border-color: {c["accent"]}; }}
QToolBar#stageBar QToolButton:disabled {{ color: {c["muted"]}; }}
QMenuBar {{ background: {c["window"]}; padding: 2px 6px; }}
QMenuBar::item {{ padding: 4px 9px; border-radius: 4px; background: transparent; }}
QMenuBar::item:selected {{ background: {c["hovered"]}; }}
QScrollArea, QScrollArea > QWidget > QWidget {{ background: {c["base"]}; }}
QScrollArea#pageArea {{ background: #b9bdbd; }}
QDockWidget > QWidget, #outlinePane, #shelfPane, #findingsPane {{ background: {c["base"]}; }}
QComboBox {{ padding-right: 4px; }}
QComboBox::drop-down {{ border: none; width: 20px; }}
#paneHeading {{ font-weight: 600; color: {c["ink"]}; }}
QTreeView, QTableView, QListWidget {{ border: none; background: {c["base"]};
    selection-background-color: {c["accent"]}; }}
QTableView#sideBySide {{ selection-background-color: {c["hovered"]}; selection-color: {c["ink"]}; }}
QTableView#sideBySide::item:focus {{ border: 1px solid {c["accent"]}; }}
QTreeView::item {{ padding: 2px 2px; }}
QTableView::item {{ padding: 0 6px; border: none; }}
#factsKind {{ color: {c["muted"]}; font-size: 8pt; font-weight: 600; }}
#factsName {{ font-size: 13.5pt; font-weight: 600; color: {c["ink"]}; }}
#factsWords, #shelfAdvice, #emptyWords {{ color: {c["muted"]}; }}
#fieldLabel, #costLabel {{ color: {c["muted"]}; }}
#sectionHeading {{ font-weight: 600; color: {c["ink"]}; padding-top: 8px; }}
#fieldProblem {{ color: {c["error"]}; font-size: 8.5pt; }}
QLineEdit[wrong="true"], QComboBox[wrong="true"] {{ border-color: {c["error"]}; }}
QPlainTextEdit {{ background: {c["base"]}; border: 1px solid {c["edge"]}; border-radius: 4px; padding: 2px; }}
QPlainTextEdit:focus {{ border-color: {c["accent"]}; }}
#costCard {{ background: {c["alternate"]}; border: 1px solid {c["edge"]}; border-radius: 6px; }}
#costCard QWidget {{ background: transparent; }}
#costValue {{ font-weight: 600; color: {c["ink"]}; }}
#costWhy {{ color: {c["muted"]}; font-size: 8.5pt; padding-bottom: 3px; }}
#sizingWords {{ color: {c["ink"]}; }}
QTreeView#sizingRows {{ background: transparent; }}
QTreeView#sizingRows QHeaderView::section {{ background: transparent; color: {c["muted"]}; border: none;
    padding: 2px 4px; }}
QToolButton#sizingOpener {{ border: none; font-weight: 600; color: {c["ink"]}; background: transparent; }}
QToolButton#sizingOpener:focus {{ color: {c["accent"]}; }}
QPushButton#wireLine {{ text-align: left; border: none; border-radius: 4px; padding: 0; background: transparent; }}
QPushButton#wireLine:hover {{ background: {c["hovered"]}; }}
QPushButton#wireLine:focus {{ background: {c["hovered"]}; border: 1px solid {c["accent"]}; }}
#liveCost {{ background: {c["base"]}; color: {c["ink"]}; border: 1px solid {c["accent"]}; border-radius: 6px;
    padding: 5px 10px; font-weight: 600; }}
#guideStrip {{ background: {c["alternate"]}; border-bottom: 1px solid {c["edge"]}; }}
#guideHead {{ font-weight: 600; color: {c["ink"]}; }}
#startCard {{ background: {c["base"]}; border: 1px solid {c["edge"]}; border-radius: 8px; }}
#findingDetail {{ color: {c["ink"]}; background: {c["alternate"]}; border-top: 1px solid {c["edge"]};
    padding: 6px 12px; }}
#findingsSummary {{ color: {c["muted"]}; }}
#statusHint {{ color: {c["ink"]}; padding-left: 8px; }}
#statusPart {{ color: {c["muted"]}; padding: 3px 12px; border-left: 1px solid {c["edge"]}; }}
#dialogHeadline {{ font-size: 12.5pt; font-weight: 600; }}
QPushButton {{ background: {c["base"]}; border: 1px solid {c["edge"]}; border-radius: 5px; padding: 5px 14px; }}
QPushButton:hover {{ background: {c["hovered"]}; }}
QPushButton:default {{ border-color: {c["accent"]}; }}
QPushButton:focus {{ border-color: {c["accent"]}; }}
QPushButton:disabled {{ color: {c["muted"]}; }}
QTabBar::tab {{ background: {c["window"]}; color: {c["muted"]}; border: none; border-bottom: 2px solid transparent;
    padding: 5px 14px; }}
QTabBar::tab:selected {{ color: {c["ink"]}; border-bottom-color: {c["accent"]}; }}
QTabWidget::pane {{ border: none; }}
"""
