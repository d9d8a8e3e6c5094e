"""The program: ``anglewright COMMAND``, or ``python -m anglewright COMMAND``."""

import gc
import sys

_OBJECTS = 100_000  # made before the first search for lost ones: most commands end before it [1]


def main() -> int:
    """Run the command line; the version is told before anything else is imported. [1]"""
    gc.set_threshold(_OBJECTS)
    try:
        if sys.argv[1:] in (["--version"], ["-V"]):
            from anglewright.version import VERSION

            print(f"anglewright {VERSION}", flush=True)
            return 0
        from anglewright.cli.program import run

        return run(sys.argv[1:])
    except KeyboardInterrupt:
        print("anglewright: stopped before anything was begun.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        from anglewright.cli.streams import hush

        hush(sys.stdout)
        return 0


if __name__ == "__main__":
    sys.exit(main())
