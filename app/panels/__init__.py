"""The panes around the sheet: outline, facts, findings, devices at hand. Views on the session, no copies."""
