"""The second rung: the sketch's own text, compiled for this computer."""

from host_tools.logic.rung import LogicRung, NoCompiler

__all__ = ["LogicRung", "NoCompiler"]
