"""``coilbench windings``: which lead is which, from a file of readings or asked one reading at a time."""

from __future__ import annotations

import argparse
import sys

from coilbench.cli.output import print_json
from coilbench.cli.readings_file import read_readings
from coilbench.cli.windings_session import Keeper, Session, kept_leads
from coilbench.cli.windings_show import show_verdict
from coilbench.errors import InputProblem
from coilbench.quantity import parse_quantity
from coilbench.winding.engine.report import named, result_object
from coilbench.winding.readings.leads import parse_leads
from coilbench.winding.readings.meter import DEFAULT_METER, parse_meter

HELP = "Sort a motor's leads into coils from resistance readings."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """A readings file, or --ask; how to show it; what meter; where to keep it."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="CSV with from,to,ohms (OL for open); - for stdin")
    parser.add_argument("--ask", action="store_true", help="ask for one reading at a time, on plain lines")
    parser.add_argument(
        "--leads", metavar="LEADS", help='the leads, such as "red,blue" or RD BU WH BK, or their number'
    )
    parser.add_argument("--json", action="store_true", help="one JSON object; with --ask, JSON lines")
    parser.add_argument(
        "--meter", metavar="ACCURACY", help='such as "1%% + 0.2 ohm" or "0.8%% + 5 counts of 0.1 ohm"'
    )
    parser.add_argument("--range", metavar="OHMS", help='the hand-set range the meter is on, such as "200 ohm"')
    parser.add_argument(
        "--order", action="store_true", help="go on to the phase order and half pairing, by hand tests"
    )
    parser.add_argument("--common", metavar="LEAD", help="with --order: a sorted five-lead motor's common lead")
    parser.add_argument("--ascii", action="store_true", help="draw with plain ASCII characters")
    parser.add_argument("--save", metavar="NAME", help="keep readings and result under this name in the motor bin")
    parser.add_argument("--go-on", action="store_true", help="with --save: add to the readings the motor has")


def run(args: argparse.Namespace) -> int:
    """Sort, print, and say by the exit status whether the motor is named."""
    _check_together(args)
    meter = parse_meter(args.meter) if args.meter is not None else DEFAULT_METER
    range_ohm = parse_quantity(args.range, "ohm", bare=True) if args.range is not None else None
    leads = parse_leads(args.leads) if args.leads is not None else None
    if args.go_on and leads is None:
        leads = kept_leads(args.save, args.bin)
    ascii_only = bool(args.ascii) or not _shows_boxes()
    if args.common is not None:
        from coilbench.cli.order_dialogue import order_of_five

        return order_of_five(leads or (), args.common, as_json=args.json)
    if args.ask:
        from coilbench.cli.windings_ask import ask_in_json, ask_in_words, ask_leads

        if leads is None and not args.json and sys.stdin.isatty():
            leads = ask_leads()
        if leads is None:
            raise InputProblem("--ask without --leads", remedy='name them: --leads "RD BU WH BK"')
        with Keeper.open(args.save, args.bin, leads, args.meter or "", go_on=args.go_on) as keeper:
            session = Session(leads, meter, range_ohm, keeper)
            if args.json:
                return ask_in_json(session, order=args.order)
            return ask_in_words(session, order=args.order, ascii_only=ascii_only)
    leads, readings = read_readings(args.file, leads, range_ohm)
    with Keeper.open(args.save, args.bin, leads, args.meter or "", go_on=args.go_on) as keeper:
        session = Session(leads, meter, range_ohm, keeper)
        session.load(readings)
        if args.order:
            from coilbench.cli.order_dialogue import order_after

            return order_after(session, as_json=args.json, ascii_only=ascii_only)
        session.finish()
        verdict = session.verdict
        if args.json:
            print_json(result_object(verdict))
        else:
            show_verdict(verdict, readings=session.readings, ascii_only=ascii_only)
    return 0 if named(verdict) else 3


def _check_together(args: argparse.Namespace) -> None:
    if args.common is not None and not (args.order and args.leads):
        raise InputProblem("--common goes with --order and --leads")
    if args.ask and args.file is not None:
        raise InputProblem(f"--ask and a readings file {args.file!r} together", remedy="give one of them")
    if args.file is None and not args.ask and args.common is None:
        raise InputProblem("no readings", remedy="give a CSV file with from,to,ohms, or --ask --leads ...")
    if args.order and args.file == "-":
        raise InputProblem("--order reads the answers from standard input", remedy="give the readings as a file")
    if args.go_on and args.save is None:
        raise InputProblem("--go-on without a motor", remedy="name it with --save NAME")
    if args.save is not None and args.common is not None:
        raise InputProblem("--save with --common: there are no readings to keep")


def _shows_boxes() -> bool:
    encoding = (sys.stdout.encoding or "ascii").lower().replace("-", "")
    return encoding.startswith("utf")
