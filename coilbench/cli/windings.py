"""``coilbench windings``: which lead is which, from a file of readings or asked one reading at a time."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from coilbench.cli.motor_options import bring_bench, say_taken
from coilbench.cli.output import note, print_json
from coilbench.cli.text_file import file_name, text_in
from coilbench.cli.windings_meter import told_meter
from coilbench.cli.windings_show import print_page
from coilbench.errors import InputProblem
from coilbench.quantity import parse_quantity
from coilbench.stages.desk import Desk, desk_of, scratch_desk
from coilbench.stages.leads import leads_in
from coilbench.stages.order.stage import WAYS
from coilbench.stages.windings.bench_meter import MeterAtWork, own_on_port
from coilbench.stages.windings.judging import check_meter
from coilbench.stages.windings.readings_file import EXPECTED, MOST_BYTES, readings_in
from coilbench.stages.windings.stage import WindingsStage

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
        "--meter",
        metavar="ACCURACY|PORT",
        action="append",
        default=[],
        help='such as "1%% + 0.2 ohm" or "0.8%% + 5 counts of 0.1 ohm"; with --ask also the port of a bench meter '
        "that speaks SCPI, such as /dev/ttyUSB0 or virtual://meter?motor=M-02",
    )
    parser.add_argument("--four-wire", action="store_true", help="with a meter on a port: by four probes")
    parser.add_argument(
        "--by-itself", action="store_true", help="with a meter on a port: take each reading once it rests"
    )
    parser.add_argument(
        "--clips",
        action="store_true",
        help="a helper board measures all of --leads on its clips, the first on clip 1",
    )
    parser.add_argument(
        "--port", metavar="PORT", help="with --clips: such as /dev/ttyACM0, COM3 (your usual board's)"
    )
    parser.add_argument(
        "--silent", metavar="LEADS", help="with --clips: leads that conduct to no other though their clips sit well"
    )
    parser.add_argument("--range", metavar="OHMS", help='the hand-set range the meter is on, such as "200 ohm"')
    parser.add_argument(
        "--order", action="store_true", help="go on to the phase order and half pairing, by hand tests"
    )
    parser.add_argument(
        "--way", choices=WAYS, help="with --order: by flag and kick (usual), small AC volts, a free shaft, or a drag"
    )
    parser.add_argument("--common", metavar="LEAD", help="with --order: a sorted five-lead motor's common lead")
    parser.add_argument("--ascii", action="store_true", help="draw with plain ASCII characters")
    parser.add_argument("--save", metavar="NAME", help="keep readings and result under this name in the motor bin")
    parser.add_argument("--go-on", action="store_true", help="with --save: add to the readings the motor has")


def run(args: argparse.Namespace) -> int:
    """Sort, print, and say by the exit status whether the motor is named."""
    _check_together(args)
    accuracy, port = told_meter(args.meter)
    if (port or args.four_wire or args.by_itself) and not (args.ask and port):
        raise InputProblem("a meter on a port goes with --ask", remedy="--ask --leads ... --meter PORT")
    meter = check_meter(accuracy) if accuracy else ""
    range_ohm = parse_quantity(args.range, "ohm", bare=True) if args.range is not None else None
    leads = leads_in(args.leads) if args.leads is not None else None
    if args.go_on and leads is None:
        leads = _kept_leads(args.save, args.bin)
    ascii_only = bool(args.ascii) or not _shows_boxes()
    if args.common is not None:
        from coilbench.cli.order_dialogue import order_of_five

        return order_of_five(leads or (), args.common, args.way, as_json=args.json)
    if args.clips:
        from coilbench.cli.windings_clips import measure_on_clips

        if leads is None:
            raise InputProblem("--clips without --leads", remedy='name them, clip by clip: --leads "RD BU WH BK"')
        silent = _silent(args.silent or "", leads)
    if args.ask or args.clips:
        from coilbench.cli.windings_ask import ask_in_json, ask_in_words, ask_leads

        if leads is None and not args.json and sys.stdin.isatty():
            leads = ask_leads()
        if leads is None:
            raise InputProblem("--ask without --leads", remedy='name them: --leads "RD BU WH BK"')
        with _desk(args, leads) as desk:
            stage = WindingsStage(desk, meter=meter, range_ohm=range_ohm, asks_range=not (args.json or port))
            if args.clips:
                measure_on_clips(stage, args.port, silent, as_json=args.json)
            if not args.ask:
                return _shown(stage, args, ascii_only)
            _say_meter(stage)
            on_port = _on_port(stage, port, meter, args.four_wire)
            try:
                if args.json:
                    return ask_in_json(stage, order=args.order, way=args.way, meter=on_port)
                by_itself = args.by_itself
                return ask_in_words(
                    stage, order=args.order, way=args.way, ascii_only=ascii_only, meter=on_port, by_itself=by_itself
                )
            finally:
                if on_port is not None:
                    on_port.close()
    text = text_in(args.file, MOST_BYTES, EXPECTED)
    leads, readings = readings_in(text, file_name(args.file), leads, range_ohm)
    with _desk(args, leads) as desk:
        stage = WindingsStage(desk, meter=meter, range_ohm=range_ohm)
        _say_meter(stage)
        stage.load(readings)
        return _shown(stage, args, ascii_only)


def _silent(text: str, leads: tuple[str, ...]) -> tuple[str, ...]:
    """The leads that a text names, with commas or spaces between them. Raises InputProblem for another name."""
    names = tuple(part.strip() for part in (text.split(",") if "," in text or text in leads else text.split()))
    for name in names:
        if name and name not in leads:
            raise InputProblem(f"--silent {name!r}: no such lead, expected of {', '.join(leads)}")
    return names


def _shown(stage: WindingsStage, args: argparse.Namespace, ascii_only: bool) -> int:
    """The result of all readings there are, and the phase order after it where that is asked for."""
    state = stage.work_out()
    if args.order:
        from coilbench.cli.order_dialogue import order_after

        return order_after(stage, args.way, as_json=args.json, ascii_only=ascii_only)
    stage.finish()
    if args.json:
        print_json(stage.result())
    else:
        print_page(stage.page(ascii=ascii_only), ascii_only=ascii_only)
    return 0 if state.named else 3


@contextmanager
def _desk(args: argparse.Namespace, leads: tuple[str, ...]) -> Iterator[Desk]:
    """The desk of a motor of the name to save under, new or with the same leads; without a name, of none.

    Raises InputProblem for a motor that has readings, unless it is said to add to them.
    """
    if args.save is None:
        desk = scratch_desk(leads)
        with desk.bin:
            bring_bench(desk, args.bin)
            yield desk
        return
    from coilbench.records.checks import free_name
    from coilbench.records.store import Bin

    with Bin.open(args.bin) as bin:
        desk = desk_of(bin, args.save, leads)
        count = len(desk.readings)
        if count and not args.go_on:
            free = free_name(args.save, {record.name for record in bin.motors()})
            raise InputProblem(
                f"motor {args.save!r} has {count} reading{'s' * (count > 1)} in the bin",
                remedy=f"--go-on adds to them; or choose another name, such as {free!r}",
            )
        yield desk


def _say_meter(stage: WindingsStage) -> None:
    own = stage.own_meter
    if own is not None:
        say_taken({"accuracy": own}, {"accuracy": own.accuracy}, {"accuracy": "meter"})


def _on_port(stage: WindingsStage, port: str, accuracy: str, four_wire: bool) -> MeterAtWork | None:
    """The meter on that port, open; None for no port. Raises LinkFault, MeterFault."""
    if not port:
        return None
    own = own_on_port(stage.desk)
    known = own.accuracy if own is not None and own.port == port else ""
    meter = MeterAtWork(port, accuracy or known, four_wire=four_wire)
    note(f"meter: {meter.open()}; readings good to {meter.accuracy}")
    if remembered := meter.remember(stage.desk):
        note(remembered)
    return meter


def _kept_leads(name: str, path: Path | None) -> tuple[str, ...] | None:
    """The leads of a motor in the bin; None where there is no such motor, or no bin yet."""
    from coilbench.records.paths import bin_path
    from coilbench.records.store import Bin

    if not (path or bin_path()).exists():  # looking must not begin a bin
        return None
    with Bin.open(path) as bin:
        return next((record.leads for record in bin.motors() if record.name == name), None)


def _check_together(args: argparse.Namespace) -> None:
    if args.common is not None and not (args.order and args.leads):
        raise InputProblem("--common goes with --order and --leads")
    if args.way is not None and not args.order:
        raise InputProblem("--way goes with --order")
    if not args.clips and (args.port is not None or args.silent is not None):
        raise InputProblem("--port and --silent go with --clips")
    if args.clips and args.file is not None:
        raise InputProblem(f"--clips and a readings file {args.file!r} together", remedy="give one of them")
    if args.ask and args.file is not None:
        raise InputProblem(f"--ask and a readings file {args.file!r} together", remedy="give one of them")
    if args.file is None and not (args.ask or args.clips) and args.common is None:
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
