"""The complete run: `python -m tests.symbolic [SUBJECT …]`. Ends with 1 where something is not
proved, or a planted fault is not found."""

from __future__ import annotations

import argparse
import sys
import time

from tests.symbolic.faults import FAULTS
from tests.symbolic.prove import compiled, prove, ticks_of
from tests.symbolic.subjects import SMALL, Case, complete, in_turn


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.symbolic", description=__doc__)
    parser.add_argument("subject", nargs="*", help="only these")
    parser.add_argument("--faults", action="store_true", help="only the planted faults")
    chosen = parser.parse_args()
    short = 0
    for case in () if chosen.faults else complete():
        if chosen.subject and case.subject not in chosen.subject:
            continue
        module = compiled(case)
        for tick in ticks_of(module):
            before = time.process_time()
            proof = prove(case.subject, tick, module)
            spent = time.process_time() - before
            what = " ".join((case.subject, *case.defines, tick))
            outcome = "BROKEN" if proof.broken else "proved"
            print(f"{outcome} {what}: {proof.obligations} obligations, {spent:.1f} s", flush=True)
            for one in proof.broken:
                print(f"  {one.place[0]}:{one.place[1]}: {one.what}")
            short += bool(proof.broken)
    found = 0
    faults = [fault for fault in FAULTS if not chosen.subject or fault[0] in chosen.subject]
    for fault in faults:
        is_found = finds(fault)
        found += is_found
        print(f"{'found' if is_found else 'NOT FOUND'} {fault}", flush=True)
    print(f"planted faults found: {found} of {len(faults)}")
    return int(short > 0 or found < len(faults))


def finds(fault: tuple[str, str, str, str]) -> bool:
    """Whether a planted fault is found by one of its subject's ticks."""
    subject, *planted = fault
    case = in_turn(5, 2) if subject == "in_turn" else Case(subject, limits=SMALL)
    module = compiled(case, (planted[0], planted[1], planted[2]))
    return any(prove(subject, tick, module).broken for tick in ticks_of(module))


if __name__ == "__main__":
    sys.exit(main())
