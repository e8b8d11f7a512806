"""What an axis comes to: figures with their names, and what a practitioner would say of them."""

from __future__ import annotations

import math

from coilbench.errors import InputProblem
from coilbench.motion.axis.axis import Axis, Motor, move_seconds
from coilbench.motion.axis.line import line_of
from coilbench.motion.axis.screw import Screw
from coilbench.motion.axis.shaft_limits import shaft_limits
from coilbench.quantity import format_quantity
from coilbench.stages.axis.build import axis_of, friction_of, motor_of, number, rate_sps, thread_of
from coilbench.stages.axis.fields import Texts, Values, read
from coilbench.stages.figures import Figure, FiguresAnswer, figure

USUAL_MARGIN = 2.0  # motor's torque over what is needed; common practice for stepping motors
MEASURED_MARGIN = 1.5  # where the load was measured; common practice
USUAL_INERTIA_RATIO = 10.0  # load over rotor (Machine Design, "Stepping to success", 2001)
MOTOR_ERROR_STEPS = 0.05  # of a full step either way, it doesn't add up: data sheets print 5 % (common practice)
_SOFT_MICROSTEPS = 4  # so many soften the resonance (common practice)
_NEAR_RESONANCE = 1.3  # this close to the resonance a rate is warned of; own choice, half a band wide
CAUTION = "fingers, hair and sleeves off the axis while it is powered; a load that can fall is propped first"


def axis_answer(kind: str, texts: Texts) -> FiguresAnswer:
    """What the texts about an axis of that ``kind`` come to; a key of ``texts`` is a field of the kind.

    Raises InputProblem for what can't be read or can't be, NotEnoughKnown for what is missing.
    """
    values = read(kind, texts)
    return _Work(kind, values, axis_of(kind, values), motor_of(values)).answer()


class _Work:
    """The answer while it is put together."""

    def __init__(self, kind: str, values: Values, axis: Axis, motor: Motor) -> None:
        self.kind, self.values, self.axis, self.motor = kind, values, axis, motor
        self.rate = rate_sps(axis, motor, kind, values)
        self.figures: list[Figure] = []
        self.findings: list[str] = []
        self.warnings: list[str] = []
        self.off: dict[str, float] = {}  # what puts it out of place, in metre along the axis or degree of the table

    def answer(self) -> FiguresAnswer:
        for part in (self._travel, self._load, self._screw, self._line, self._speed, self._acceleration, self._motor,
                     self._accuracy):  # fmt: skip
            part()
        return FiguresAnswer(self.kind, tuple(self.figures), tuple(self.findings), tuple(self.warnings))

    def _add(self, key: str, label: str, value: float | bool | None, unit: str = "", digits: int = 3) -> None:
        self.figures.append(figure(key, label, value, unit, digits))

    def _travel(self) -> None:
        travel, motor = self.axis.drive.travel_per_turn_metre, self.motor
        if travel <= 0:
            raise InputProblem("an axis that doesn't move with its motor is none: expected a lead above zero")
        pulses = motor.steps_per_turn * motor.microsteps * self.axis.gear
        if self.kind == "table":
            self._add("travel_per_turn_degree", "travel a turn", 360.0, "degree")
            self._add("steps_per_degree", "steps a degree", pulses / 360, "", 5)
            self._add("resolution_degree", "one of them", 360 / pulses, "degree")
        else:
            self._add("travel_per_turn_metre", "travel a turn", travel, "metre", 5)
            self._add("steps_per_mm", "steps per mm", pulses / travel / 1000, "", 5)
            self._add("resolution_metre", "one of them", travel / pulses, "metre")
        if "distance" in self.values:
            distance = number(self.values, "distance") / (360 if self.kind == "table" else travel)
            self._add("move_pulses", "pulses for the move", round(distance * pulses), "", 9)
        if "resolution" in self.values:
            wanted = number(self.values, "resolution") / (360 if self.kind == "table" else travel)
            self._add("positions_per_turn", "places a turn, as asked", 1 / wanted, "", 6)
            full = motor.steps_per_turn * self.axis.gear
            if full * wanted < 1 - 1e-9:
                self.findings.append(
                    f"a full step is {1 / (full * wanted):.3g} times as coarse as asked: microsteps make it finer "
                    "to look at, not stiffer; a finer lead or a gear does"
                )
        if motor.microsteps > 16:
            self.findings.append("beyond 16 microsteps the motor's own error and friction are larger than a step")

    def _load(self) -> None:
        axis = self.axis
        if self.kind == "screw":
            return
        self._add("torque_newton_metre", "torque at the motor, steady", axis.steady_newton_metre, "newton_metre", 4)
        self._add("back_newton_metre", "with the load, on the way back", axis.back_newton_metre, "newton_metre", 4)
        self._forces()
        self._add("holds_itself", "holds itself, power off", False)
        if axis.load.incline_degree > 0 and axis.back_newton_metre < 0:
            self.warnings.append("with the power off the load runs down: a brake, a counterweight or a prop")

    def _forces(self) -> None:
        torque = self.kind == "table"
        unit, word = ("newton_metre", "load torque") if torque else ("newton", "force along the axis")
        self._add("load_newton_metre" if torque else "force_newton", word, self.axis.load.against_newton, unit, 6)

    def _screw(self) -> None:
        drive, axis = self.axis.drive, self.axis
        if not isinstance(drive, Screw):
            return
        load = axis.load.against_newton
        raising = axis.steady_newton_metre
        self._add("raise_newton_metre", "torque to raise, at the motor", raising, "newton_metre", 4)
        known = drive.friction is not None
        back = axis.back_newton_metre if known else None
        self._add("lower_newton_metre", "torque to lower, at the motor", back, "newton_metre", 4)
        thread = drive.thread_torque_back(axis.load.back_newton) if known else None
        self._add("thread_lower_newton_metre", "to lower, the thread alone", thread, "newton_metre", 4)
        self._forces()
        if load:
            useful = load * drive.lead_metre / (2 * math.pi * axis.gear * axis.motors)
            self._add("efficiency", "efficiency", useful / raising)
        self._add("holds_itself", "holds itself, power off", drive.holds_itself)
        if known:
            self._add("lead_angle_degree", "lead angle", drive.lead_angle_degree, "degree")
        if drive.holds_itself is False and axis.load.back_newton <= 0 < axis.load.mass_kilogram:
            self.findings.append("the thread doesn't hold with the power off: the slide can be pushed along")
        elif drive.holds_itself is False:
            self.warnings.append("the thread alone lets go with the power off: it needs a brake, or the load falls")
            if axis.back_newton_metre > 0:
                self.findings.append("only the collar's friction keeps it: oil or a bearing there, and it runs down")
        elif drive.holds_itself:
            self.findings.append("the thread holds with the power off; shaking can still work it down")
        else:
            self.findings.append("whether it holds itself needs the thread's friction: below half efficiency it may")
        _, table = friction_of(self.values)
        if table is not None:
            self.findings.append(f"friction {table[0]:g} to {table[1]:g} by the table: reckoned with the upper one")
            if Screw(**{**vars(drive), "friction": table[0]}).holds_itself is False and drive.holds_itself:
                self.warnings.append("at the table's lower friction the thread lets go: don't rely on it to hold")
        self._shaft_limits(load)

    def _shaft_limits(self, load: float) -> None:
        values, size = self.values, thread_of(self.values)
        if "ends" not in values:
            return
        root = number(values, "root_diameter", size.root_diameter_metre if size else None)
        limits = shaft_limits(root, number(values, "length"), str(values["ends"]))
        self._add("critical_rpm", "most it may turn, 0.8 inside", limits.critical_rpm, "rpm", 5)
        self._add("buckling_newton", "most push before it bows, 0.5 inside", limits.buckling_newton, "newton", 4)
        most = min(limits.buckling_newton, limits.crushing_newton)
        if load > most:
            self.warnings.append(f"a push of {format_quantity(load, 'newton')} is more than the screw takes: pull it")
        rpm = self._drive_rpm()
        if rpm is not None and rpm > limits.critical_rpm:
            self.warnings.append(f"at {rpm:.0f} rpm the screw whips: {limits.critical_rpm:.0f} rpm is the most")

    def _drive_rpm(self) -> float | None:
        return None if self.rate is None else self.rate / self.motor.steps_per_turn / self.axis.gear * 60

    def _line(self) -> None:
        if self.kind != "drum":
            return
        values = self.values
        drum, line = number(values, "diameter"), number(values, "line", 0.0)
        if not line:
            return
        self._add("bend_ratio", "drum over line", drum / line)
        if "line_construction" not in values:
            return
        kind = line_of(str(values["line_construction"]))
        if kind.bend_usual:
            self._add("usual_drum_metre", "drum as recommended", kind.bend_usual * line, "metre", 4)
            if kind.bend_least:
                self._add("least_drum_metre", "drum at the least", kind.bend_least * line, "metre", 4)
            if drum < (kind.bend_least or kind.bend_usual) * line:
                self.warnings.append(f"{drum / line:.3g} times the line is too tight a drum for {kind.construction}")
        else:
            self.findings.append(f"no bend ratio is printed for {kind.construction}: take a stranded rope on a drum")
        if "free_length" in values:
            load = self.axis.load.against_newton
            stretch = kind.stretch_metre(load, line, number(values, "free_length"))
            self._add("line_stretch_metre", "the line's stretch", stretch, "metre")
            self.off["the line's stretch"] = stretch or 0.0
            self.findings.append("a new line settles by up to 1 % more: stretch it in first")

    def _speed(self) -> None:
        if self.rate is None:
            return
        axis, motor, rate = self.axis, self.motor, self.rate
        turns = rate / motor.steps_per_turn
        pulses = rate * motor.microsteps
        self._add("rate_sps", "full steps/s", rate, "", 4)
        self._add("rpm", "motor", turns * 60, "rpm", 4)
        self._add("pulses_per_second", "pulses/s", pulses, "", 5)
        if self.kind == "table":
            self._add("speed_rpm", "the table", turns / axis.gear * 60, "rpm", 4)
        else:
            travel = turns / axis.gear * axis.drive.travel_per_turn_metre
            self._add("speed_metre_per_second", "along the axis", travel, "metre_per_second", 4)
        power = axis.steady_newton_metre * turns * 2 * math.pi
        self._add("power_watt", "power at the motor, steady", power, "watt")
        if "controller" in self.values and pulses > number(self.values, "controller"):
            self.warnings.append(f"{pulses:.0f} pulses/s is more than the controller makes: fewer microsteps")

    def _acceleration(self) -> None:
        axis = self.axis
        self._add("load_inertia_kilogram_metre2", "inertia at the drive", axis.load_inertia_kilogram_metre2,
                  "kilogram_metre2", 4)  # fmt: skip
        self._add("inertia_kilogram_metre2", "inertia at the motor", axis.inertia_kilogram_metre2,
                  "kilogram_metre2", 4)  # fmt: skip
        if "acceleration" not in self.values:
            return
        acceleration = number(self.values, "acceleration")
        rotor = self.motor.rotor_inertia_kilogram_metre2 or 0.0
        on_top = axis.acceleration_newton_metre(acceleration) + rotor * axis.turns(acceleration) * 2 * math.pi
        self._add("acceleration_sps2", "steps/s²", axis.turns(acceleration) * self.motor.steps_per_turn, "", 6)
        self._add("acceleration_newton_metre", "torque on top, speeding up", on_top, "newton_metre", 4)
        self._add("total_newton_metre", "torque in all", axis.steady_newton_metre + on_top, "newton_metre", 4)
        if self.motor.rotor_inertia_kilogram_metre2 is None:
            self.findings.append("speeding the rotor itself up comes on top: the motor's rotor inertia tells it")

    def _motor(self) -> None:
        motor, axis = self.motor, self.axis
        steady = axis.steady_newton_metre
        needed = next((each.value for each in self.figures if each.key == "total_newton_metre"), None) or steady
        if motor.rotor_inertia_kilogram_metre2:
            ratio = axis.inertia_kilogram_metre2 / motor.rotor_inertia_kilogram_metre2
            self._add("inertia_ratio", "load over rotor", ratio)
            if ratio > USUAL_INERTIA_RATIO:
                self.warnings.append(f"the load has {ratio:.0f} times the rotor's inertia, {USUAL_INERTIA_RATIO:.0f} "
                                     "is the usual most: a gear or a finer lead")  # fmt: skip
        if motor.holding_newton_metre is not None:
            angle = motor.load_angle_steps(steady)
            self._add("load_angle_steps", "out of its step under load, full steps", angle)
            if angle is not None and math.isfinite(angle):
                lag = self.off["the load on the rotor"] = angle * self._full_step
                self._add(f"load_angle_{self._unit}", "which is, along the axis", lag, self._unit)
        resonance = motor.resonance_sps(axis.inertia_kilogram_metre2)
        if resonance is not None:
            self._add("resonance_sps", "resonance, full steps/s", resonance)
            if self.rate is not None and 1 / _NEAR_RESONANCE < self.rate / resonance < _NEAR_RESONANCE:
                if motor.microsteps < _SOFT_MICROSTEPS:
                    self.warnings.append("the target speed is at the resonance: microsteps, or another speed")
                else:
                    self.findings.append(
                        f"the target speed is at the resonance: {motor.microsteps} microsteps soften it; where it "
                        "hums or skips all the same, another speed"
                    )
        if motor.torque_newton_metre is not None:
            assert not isinstance(needed, bool)
            self._margin(motor.torque_newton_metre, needed)
        move = self._move()
        if move is not None:
            self._add("move_seconds", "time of the move", move, "second")

    @property
    def _unit(self) -> str:
        return "degree" if self.kind == "table" else "metre"

    @property
    def _full_step(self) -> float:
        """In metre along the axis, or degree of the table."""
        turn = 360.0 if self.kind == "table" else self.axis.drive.travel_per_turn_metre
        return turn / self.axis.gear / self.motor.steps_per_turn

    def _accuracy(self) -> None:
        """All that puts it out of place, against what is asked."""
        if "resolution" not in self.values:
            return
        self.off["half a microstep"] = self._full_step / self.motor.microsteps / 2
        self.off["the motor's own error"] = MOTOR_ERROR_STEPS * self._full_step
        error = sum(self.off.values())
        self._add(f"error_{self._unit}", "off at most, with all of it", error, self._unit)
        shown = {what: format_quantity(part, self._unit) for what, part in self.off.items() if part}
        parts = ", ".join(f"{what} {shown[what]}" for what in sorted(shown, key=lambda what: -self.off[what]))
        asked = number(self.values, "resolution")
        off, wanted = format_quantity(error, self._unit), format_quantity(asked, self._unit)
        said = f"{off} off at most, {wanted} are asked: {parts}; play comes on top"
        (self.findings if error <= asked else self.warnings).append(said)
        if self.motor.holding_newton_metre is None and self.axis.steady_newton_metre:
            self.findings.append(
                "how far the load turns the rotor out of its step comes on top: the motor's holding torque tells it"
            )

    def _margin(self, there: float, needed: float) -> None:
        spare = there - self.axis.steady_newton_metre
        inertia = self.axis.inertia_kilogram_metre2 + (self.motor.rotor_inertia_kilogram_metre2 or 0.0)
        if spare > 0 and inertia > 0:
            step = 2 * math.pi / self.motor.steps_per_turn
            self._add("most_acceleration_sps2", "steps/s² that takes all of it", spare / inertia / step, "", 6)
        if needed <= 0:
            return
        margin = there / needed
        self._add("margin", "motor over what is needed", margin)
        if margin < USUAL_MARGIN:
            self.warnings.append(
                f"a margin of {margin:.2g}: {USUAL_MARGIN:g} is the trade's, {MEASURED_MARGIN:g} for a measured load"
            )

    def _move(self) -> float | None:
        if "distance" not in self.values or self.rate is None:
            return None
        turns = self.rate / self.motor.steps_per_turn / self.axis.gear  # of the drive, a second
        if self.kind == "table":
            distance, speed = number(self.values, "distance") / 360, turns
            ramp = self.values.get("acceleration")
            acceleration = None if ramp is None else number(self.values, "acceleration") / (2 * math.pi)
        else:
            distance, speed = number(self.values, "distance"), turns * self.axis.drive.travel_per_turn_metre
            acceleration = number(self.values, "acceleration") if "acceleration" in self.values else None
        return move_seconds(distance, speed, acceleration)[0]
