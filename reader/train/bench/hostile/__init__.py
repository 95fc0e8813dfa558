"""What no file and no text may do: python -m reader.train.bench.hostile [--only WAY] [--left].

Some three hundred hostile or odd files go through `read`, `bin` (by folder, time and code), `find
--photo` and the page's upload; a thousand mutated JPEG and as many HEIC through the one door for
pictures; five thousand texts into every command that takes a size: half of them a valid one with
one change, a quarter with several, a quarter anything at all. Faults are tracebacks, lost
processes, files not accounted for, and errors of more than a line or without a remedy; memory is
that of a command with all its processes. `find`, uploads and texts run inside one process, which
a fault would end.
"""

SEED = 3_100_000
