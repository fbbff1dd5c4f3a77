"""What the sums found wrong, as problems with a ship file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import Problem, Severity

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Electrics


def problems_of(electrics: Electrics, file: str) -> list[Problem]:
    """Every finding: errors are unsafe, warnings unwise. The hint is the clause that says so."""
    return [
        Problem(
            file=file,
            line=finding.place.line,
            col=finding.place.col,
            code=finding.code,
            what=finding.what,
            got=finding.got,
            expected=finding.expected,
            hint=finding.clause,
            severity=Severity.ERROR if finding.is_error else Severity.WARNING,
        )
        for finding in electrics.findings
    ]
