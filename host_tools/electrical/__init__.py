"""The electrical sums: what carries which current, what protects it, and why.

Each file knows one subject and nothing of ships; `figure` is what all of them return. Sizes are
plain floats with the unit in their names. Boats burn and batteries hurt: where a local code or a
licensed electrician says otherwise, they are right.
"""
