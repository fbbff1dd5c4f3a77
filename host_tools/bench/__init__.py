"""The live bench: one page on this computer that shows a ship, works it, forces it, records it.

`source` is what a ship comes from (`simulated`: the model in real time; `on_board`: a board, or the
sketch in a simulated chip, with the model beside it); `radio` is the transmitter in the page's
hand. `bench` goes on from turn to turn with one of them: `news` says what changed, `seen` keeps it,
`forcing`, `trying` and `following` each do what their name says. `describe` and `state` say it to
the page, `commands` takes what the page asks for, `server` lets nobody else in. None of these but
`serving` knows a thread or a real clock.
"""
