"""Edits: pure functions from plan to plan. One that makes no sense raises `EditRefused` and changes nothing."""
