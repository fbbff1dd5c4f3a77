"""Two ships compared: what changed in words, and what the ship will do differently.

`matching.py` says which part is which, whatever it is called now; `sameness.py` finds what is the
same by its meaning alone; `hands.py` and `product.py` put one thumb on both ships, `search.py`
looks for the shortest way to where they differ, `proof.py` proves that there is none, or none
shorter; `replay.py` shows it on the models. `changes.py` and `electrics.py` are the words.
"""
