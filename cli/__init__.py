"""The command line: one module to a verb, each read only when its verb is asked for."""

import sys

_started_as = sys.argv[0].replace("\\", "/").split("/")[-1] if sys.argv else ""
if _started_as in ("-m", "clearance", "clearance.exe"):
    # a Ctrl-C from here until `stop.heed` simply ends the program: as an exception it would be a trace in whatever is
    # being loaded. A program of somebody else's that imports this keeps its own way
    # the bare module: the one that is meant for people takes longer to load than this matters
    _signal = __import__("_signal")
    if _signal.getsignal(_signal.SIGINT) is _signal.default_int_handler:
        _signal.signal(_signal.SIGINT, _signal.SIG_DFL)
