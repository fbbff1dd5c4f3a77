"""The link: lines of text between a board and this computer, over USB or a loopback TCP port.

`lines` is the grammar of one line, `told` that of what a board tells; `ports` opens what there is
to plug into; `session` speaks; `stream` keeps what was told, tick by tick; `live` compares it with
the model; `rung` makes a board the last rung of the ladder; `simulated/` is a board without one.
"""
