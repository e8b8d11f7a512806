"""``coilbench board``: the ports there are, what the board on one says of itself, the sketch on to it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from coilbench.cli import board_flash, board_pace
from coilbench.cli.export_file import refuse_log
from coilbench.cli.kinds import add_fields, answer_kind
from coilbench.cli.output import print_json, print_table
from coilbench.errors import InputProblem, as_started

HELP = (
    "List the serial ports; with --port, ask the helper board there who it is and what its pins are. `flash` puts "
    "the helper sketch on to a board, `sketch` writes its sources out, `pace` turns a motor a step at a time, "
    "`reading` tells what an analogue one resolves."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Which port, and how to answer."""
    parser.add_argument("--port", metavar="PORT", help="such as /dev/ttyACM0, COM3 or virtual://bench")
    parser.add_argument("--log", type=Path, metavar="FILE", help="write what both sides say")
    parser.add_argument("--replay", type=Path, metavar="FILE",
                        help="tell again what was said, from a file of --log or of the bench")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    actions = parser.add_subparsers(dest="action", metavar="flash|sketch|pace|reading")
    board_flash.add_actions(actions)
    board_pace.add_action(actions)
    _add_reading(actions)


def run(args: argparse.Namespace) -> int:
    """List ports, show one board, tell a conversation again, or see to the sketch."""
    if args.action == "reading":
        from coilbench.stages.analogue import analogue_answer

        return answer_kind(args, "board", analogue_answer)
    if args.action == "pace":
        return board_pace.run(args)
    if args.action is not None:
        return board_flash.run(args)
    if args.replay is not None:
        if args.port is not None or args.log:
            raise InputProblem("--replay takes a file alone; expected no --port and no --log beside it")
        return _told_again(args.replay, args.json)
    refuse_log(args.log, args.bin)
    found = _report(args.port, args.log) if args.port is not None else {"ports": _ports()}
    if args.json:
        print_json(found)
    elif args.port is not None:
        _show_board(found)
    elif found["ports"]:
        print_table(("port", "what", "USB"), [(row["port"], row["what"], row["usb"] or "") for row in found["ports"]])
        print(as_started("coilbench board --port PORT asks a board who it is"))
    else:
        print("no serial port; plug the board in with a data cable, or use --port virtual://bench")
    return 0


def _add_reading(actions: Any) -> None:
    from coilbench.stages.analogue import FIELDS

    says = "what an analogue reading resolves, by its samples"
    reading = actions.add_parser("reading", help=says, description=says, allow_abbrev=False)
    add_fields(reading, FIELDS)
    reading.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="one JSON object")
    reading.set_defaults(kind="reading")


def _told_again(path: Path, as_json: bool) -> int:
    from coilbench.board.link.conversation import in_short, read_conversation

    told = read_conversation(path)
    short = in_short(told)
    if as_json:
        print_json({"replay": str(path), "lines": [said.as_dict() for said in told], "in_short": short})
        return 0
    for said in told:
        flaw = f"   [{said.flaw}]" if said.flaw else ""
        print(f"{said.at_s:10.3f} {said.who} {'>' if said.who == 'bench' else '<'} {said.line}{flaw}")
    print()
    for line in short:
        print(line)
    return 0


def _ports() -> list[dict[str, Any]]:
    from serial.tools.list_ports import comports

    return [
        {
            "port": port.device,
            "what": port.description if port.description != "n/a" else "serial port",
            "usb": f"{port.vid:04x}:{port.pid:04x}" if port.vid is not None and port.pid is not None else None,
        }
        for port in sorted(comports(), key=lambda port: (port.vid is None, port.device))
    ]


def _report(url: str, log: Path | None) -> dict[str, Any]:
    from coilbench.board.client.client import Helper

    with Helper.open(url, log) as helper:
        state = helper.state()
        return {
            "port": url,
            "chip": helper.identity.chip,
            "sketch": helper.identity.sketch_version,
            "protocol": helper.identity.protocol,
            "can": sorted(helper.identity.can),
            "pins": helper.pin_map() | _clips(helper.clip_pins()),
            "rates": {
                "lowest_sps": helper.rates.lowest_sps,
                "highest_sps": helper.rates.highest_sps,
                "acceleration_sps2": helper.rates.gain_sps2,
                "steps": helper.rates.steps,
            },
            "supply_volt": helper.supply_volt() if "supply" in helper.identity.can else None,
            "state": state.state,
            "position": state.position,
            "outputs_on": state.outputs_on,
        }


def _clips(pins: tuple[int, ...]) -> dict[str, dict[str, Any]]:
    """The clips' digital pins, where the board has clips; clip n is on analogue input n - 1, too."""
    return {"clips": {f"clip {place}": pin for place, pin in enumerate(pins, 1)}} if pins else {}


def _show_board(found: dict[str, Any]) -> None:
    rates = found["rates"]
    print(f"{found['port']}: {found['chip']}, sketch {found['sketch']}, protocol {found['protocol']}")
    print(f"can: {', '.join(found['can'])}")
    print(f"{found['state']}, outputs {'on' if found['outputs_on'] else 'off'}, position {found['position']}")
    print(f"steps/s {rates['lowest_sps']} to {rates['highest_sps']}, at most {rates['acceleration_sps2']} steps/s2")
    if found["supply_volt"] is not None:
        print(f"its own supply {found['supply_volt']:.2f} V, to about 10 %")
    rows = [(group, name, pin) for group, pins in found["pins"].items() for name, pin in pins.items()]
    print_table(("group", "line", "pin"), rows)
