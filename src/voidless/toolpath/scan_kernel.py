"""
The second half of the compiled byte scanner: a table of lines -> columns of moves.

It carries out G0 to G3 and the common words that change a state, counts M words that nobody reads, and skips
comments, line numbers and checksums that hold. Every other line, and everything doubtful, is left to the
reader by words (`dialect.obey`), which is the one place that says what is wrong with a file.
"""

# mypy: disable-error-code="no-untyped-def, untyped-decorator, no-untyped-call, misc"
# ruff: noqa: C901, SIM109 - compiled loops: one body each, and no tuples where two comparisons do

from __future__ import annotations

import math

from voidless.compiling import njit
from voidless.toolpath import arcs
from voidless.toolpath import scan_state as at
from voidless.toolpath import scan_words as words
from voidless.toolpath.dialect import INCH, MOTION
from voidless.toolpath.dialect_moves import OFF_CIRCLE_MM
from voidless.toolpath.moves import Kind
from voidless.toolpath.scan_words import FAST as _FAST
from voidless.toolpath.scan_words import M, U, bits, letter_of

__all__ = ["ALL_READ", "BY_WORDS", "NO_ROOM", "NO_ROOM_FOR_STATES", "carry_out"]

ALL_READ, BY_WORDS, NO_ROOM, NO_ROOM_FOR_STATES = range(4)
"""Why `carry_out` came back: the lines are read, the next one is for the reader by words, a table is full."""


_circle = njit(**_FAST)(arcs.arc_circle)
_sweep = njit(**_FAST)(arcs.arc_sweep)
_angles = njit(**_FAST)(arcs.chord_angles)


_E, _F, _I, _J, _P, _R, _S, _T, _X, _Y, _Z = map(letter_of, "EFIJPRSTXYZ")
_OF_LINE, _OF_ARC = bits("XYZEF"), bits("XYZEFIJR")
_OF_SET, _OF_RATE, _OF_S, _OF_FEED = bits("XYZE"), bits("PRST"), bits("S"), bits("E")
_TRAVEL, _BEAD, _RETRACT, _RESTORE = int(Kind.TRAVEL), int(Kind.BEAD), int(Kind.RETRACT), int(Kind.RESTORE)
_FACTORS = (at.SPEED_FACTOR, at.FLOW_FACTOR)  # M220, M221
_FIRST_ARC = MOTION.index("G2")
_INCHES, _MILLIMETRES, _ABSOLUTE, _RELATIVE = 20, 21, 90, 91
_FEED_ABSOLUTE, _FEED_RELATIVE, _FAN_OFF = M + 82, M + 83, M + 107


@njit(**_FAST)
def _hold(real, whole, index, number):
    if real[index] != number:
        real[index] = number
        whole[at.CHANGED] = 1


@njit(**_FAST)
def _change(role, command, seen, values, own, real, whole):
    """Carry out a command that moves nothing; False: by words."""
    if role == words.MODE:
        if seen != 0:
            return False
        if command == _INCHES or command == _MILLIMETRES:
            real[at.SCALE] = INCH if command == _INCHES else 1.0
        elif command == _ABSOLUTE or command == _RELATIVE:
            whole[at.RELATIVE] = command == _RELATIVE
            if command == _ABSOLUTE and whole[at.RELATIVE_FEED] != 0:
                whole[at.RELATIVE_FEED] = at.UNTOLD
        else:
            whole[at.RELATIVE_FEED] = command == _FEED_RELATIVE
        return True
    scale = real[at.SCALE]
    if role == words.SET:
        if seen & ~_OF_SET:
            return False
        for axis, letter in enumerate((_X, _Y, _Z)):
            if seen == 0 or seen >> letter & 1:
                real[at.SHIFT_X + axis] = real[axis] - (values[own, letter] * scale if seen != 0 else 0.0)
        if seen == 0 or seen >> _E & 1:
            real[at.FED] = values[own, _E] * scale / real[at.FEED_AREA] if seen != 0 else 0.0
        return True
    if seen & ~_OF_S:
        return False
    if role == words.FAN:
        duty = 255.0
        if command == _FAN_OFF:
            if seen != 0:
                return False
            duty = 0.0
        elif seen != 0:
            duty = values[own, _S]
            if 0.0 < duty < 1.0:
                return False
        _hold(real, whole, at.FAN, 100.0 * duty / 255.0)
    elif role == words.FACTOR:
        if seen != 0 and not values[own, _S] > 0.0:
            return False
        if seen != 0:
            _hold(real, whole, _FACTORS[command - M - 220], values[own, _S] / 100.0)
    elif seen != 0:
        _hold(real, whole, at.NOZZLE if role == words.NOZZLE else at.BED, values[own, _S])
    return True


@njit(**_FAST)
def _begin_state(real, whole, held, row):
    """Keep what holds from the move `row` on."""
    state = whole[at.STATES]
    held[state, 0] = row
    for index in range(at.HELD, at.REAL):
        held[state, 1 + index - at.HELD] = real[index]
    whole[at.STATES] += 1
    whole[at.CHANGED] = 0


@njit(**_FAST)
def _loaded(real, whole):
    return (
        *(real[at.X], real[at.Y], real[at.Z], real[at.FED], real[at.SPEED]),
        *(whole[at.ROWS], whole[at.MODE]),
    )


@njit(**_FAST)
def _store(real, whole, px, py, pz, fed, pace, row, mode):
    real[at.X], real[at.Y], real[at.Z], real[at.FED], real[at.SPEED] = px, py, pz, fed, pace
    whole[at.ROWS], whole[at.MODE] = row, mode


@njit(**_FAST)
def _target(axis, letter, seen, values, own, real, relative):
    """Return where a move leads along one axis, in machine coordinates. [mm]"""
    if not seen >> letter & 1:
        return real[axis]
    given = values[own, letter] * real[at.SCALE]
    return real[axis] + given if relative else given + real[at.SHIFT_X + axis]


@njit(**_FAST)
def _feed(seen, values, own, real, whole):
    """Return the filament that a move feeds, and where the filament stands after it. [mm]"""
    if not seen >> _E & 1:
        return 0.0, real[at.FED]
    given = values[own, _E] * real[at.SCALE] / real[at.FEED_AREA]
    if whole[at.RELATIVE] or whole[at.RELATIVE_FEED]:
        return given, real[at.FED] + given
    return given - real[at.FED], given


@njit(**_FAST)
def _telling(whole):
    """Return the bits of letters that need no word said about them: all, but E where feed is in doubt."""
    doubtful = whole[at.RELATIVE_FEED] == at.UNTOLD and whole[at.RELATIVE] == 0
    return ~_OF_FEED if doubtful else ~0


@njit(**_FAST)
def _kind(feed, over_bed):
    if feed > 0.0:
        return _BEAD if over_bed else _RESTORE
    return _RETRACT if feed < 0.0 else _TRAVEL


@njit(**_FAST)
def _round(
    command, seen, values, own, real, whole, kind, x, y, z, length, filament, speed, rate, bend, held
):  # fmt: skip
    """Carry out an arc; returns ALL_READ, BY_WORDS or NO_ROOM."""
    relative = whole[at.RELATIVE] != 0
    if seen & ~(_OF_ARC & _telling(whole)) or (seen >> _F & 1 and not values[own, _F] > 0.0):
        return BY_WORDS
    if whole[at.PLANE] != 0 or whole[at.CENTRE_ABSOLUTE] != 0:
        return BY_WORDS
    px, py, pz, scale = real[at.X], real[at.Y], real[at.Z], real[at.SCALE]
    ex, ey, ez = (
        _target(at.X, _X, seen, values, own, real, relative),
        _target(at.Y, _Y, seen, values, own, real, relative),
        _target(at.Z, _Z, seen, values, own, real, relative),
    )
    clockwise, fits = command == _FIRST_ARC, True
    if seen >> _R & 1:
        cx, cy, fits = _circle(px, py, ex, ey, values[own, _R] * scale, clockwise)
    else:
        cx = px + (values[own, _I] * scale if seen >> _I & 1 else 0.0)
        cy = py + (values[own, _J] * scale if seen >> _J & 1 else 0.0)
    radius, first, sweep = _sweep(px, py, ex, ey, cx, cy, clockwise)
    if not fits or sweep == 0.0 or abs(math.hypot(ex - cx, ey - cy) - radius) > OFF_CIRCLE_MM:
        return BY_WORDS
    angles = _angles(first, sweep, radius)
    row = whole[at.ROWS]
    if row + len(angles) > kind.shape[0]:
        return NO_ROOM
    if whole[at.CHANGED]:
        _begin_state(real, whole, held, row)
    if seen >> _F & 1:
        real[at.SPEED] = values[own, _F] * scale / 60.0
    feed, real[at.FED] = _feed(seen, values, own, real, whole)
    rise, level = ez - pz, abs(sweep) * radius
    total = math.sqrt(level * level + rise * rise)
    turn = 1.0 if sweep > 0.0 else -1.0
    before, last = 0.0, angles[-1]
    for angle in angles:
        share = (angle - before) / last
        kind[row] = _kind(feed, True)
        x[row] = cx + radius * math.cos(first + turn * angle)
        y[row] = cy + radius * math.sin(first + turn * angle)
        z[row] = pz + angle / last * rise
        length[row], filament[row], speed[row] = total * share, feed * share, real[at.SPEED]
        rate[row] = real[at.BEAD_RATE] if kind[row] == _BEAD else real[at.TRAVEL_RATE]
        bend[row] = turn * (angle - before)
        before = angle
        row += 1
    x[row - 1], y[row - 1], z[row - 1] = ex, ey, ez
    real[at.X], real[at.Y], real[at.Z] = ex, ey, ez
    whole[at.ROWS], whole[at.ARCS], whole[at.MODE] = row, 1, command
    return ALL_READ


@njit(**_FAST)
def carry_out(
    line, lines, letters, commands, moved, rest, values,
    real, whole, roles, counts, kind, x, y, z, length, filament, speed, rate, bend, held,
):  # fmt: skip
    """
    Carry out the lines from `line` on.

    Parameters
    ----------
    line, lines : int
        The line that comes first, and how many there are in the table.
    letters, commands, moved, rest, values : arrays
        Table of lines as `scan_words.split_lines` fills it.
    real, whole : (19,) float array, (13,) int array
        State as in `scan_state`; changed in place.
    roles, counts : (2000,) int arrays
        What `scan_words.roles` returned; how often each M word that nobody reads was met.
    kind, x, y, z, length, filament, speed, rate, bend : (capacity,) arrays
        Columns of moves, filled from `whole[ROWS]` on; `bend` must be 0 there.
    held : (states, 7) float array
        States as in `scan_columns`, filled from `whole[STATES]` on.

    Returns
    -------
    line : int
        The line that comes next.
    reason : int
        One of ALL_READ, BY_WORDS, NO_ROOM, NO_ROOM_FOR_STATES.
    """
    reason = ALL_READ
    px, py, pz, fed, pace, row, mode = _loaded(real, whole)
    fresh = True
    while line < lines:
        here = U(line)
        seen, command = letters[here], commands[here]
        if command < 0 and seen != 0:
            command = mode
        if whole[at.ENDED] and command != words.BY_WORDS:
            whole[at.BEHIND] += command >= 0 or seen != 0
            whole[at.LINE] += 1
            line += 1
            continue
        if command == words.BY_WORDS or (seen != 0 and command < 0):
            reason = BY_WORDS
            break
        role = roles[command] if command >= 0 else words.COUNT
        if role == words.STRAIGHT:
            if fresh:
                scale, area = real[at.SCALE], real[at.FEED_AREA]
                shift_x, shift_y, shift_z = real[at.SHIFT_X], real[at.SHIFT_Y], real[at.SHIFT_Z]
                relative = whole[at.RELATIVE] != 0
                relative_feed = relative or whole[at.RELATIVE_FEED] != 0
                letters_read = _OF_LINE & _telling(whole)
                rated = whole[at.RATED] != 0
                bead_rate, travel_rate = real[at.BEAD_RATE], real[at.TRAVEL_RATE]
                draw_rate = real[at.DRAW_RATE]
                fresh = False
            if seen & ~letters_read or (seen >> _F & 1 and not moved[here, 4] > 0.0):
                reason = BY_WORDS
                break
            if row >= kind.shape[0]:
                reason = NO_ROOM
                break
            paced = moved[here, 4] * scale / 60.0
            pace = paced if seen >> _F & 1 else pace
            # numbers are read whether they stand or not: choosing between two costs less than a branch guessed wrong
            to_x = moved[here, 0] * scale + (px if relative else shift_x)
            to_y = moved[here, 1] * scale + (py if relative else shift_y)
            to_z = moved[here, 2] * scale + (pz if relative else shift_z)
            given = moved[here, 3] * scale / area
            ex = to_x if seen >> _X & 1 else px
            ey = to_y if seen >> _Y & 1 else py
            ez = to_z if seen >> _Z & 1 else pz
            fed_to = fed + given if relative_feed else given
            feed = given if relative_feed else given - fed
            feed = feed if seen >> _E & 1 else 0.0
            fed = fed_to if seen >> _E & 1 else fed
            dx, dy, dz = ex - px, ey - py, ez - pz
            mode = command
            over = dx != 0.0 or dy != 0.0
            if over or dz != 0.0 or feed != 0.0:
                if whole[at.CHANGED]:
                    _begin_state(real, whole, held, row)
                new = U(row)
                if feed > 0.0 and over:
                    own_kind, own_rate = _BEAD, bead_rate
                else:
                    own_kind = _kind(feed, over)
                    own_rate = travel_rate if over or dz != 0.0 or own_kind == _TRAVEL else draw_rate
                kind[new] = own_kind
                x[new], y[new], z[new] = ex, ey, ez
                length[new] = math.sqrt(dx * dx + dy * dy + dz * dz)
                filament[new], speed[new] = feed, pace
                if rated:
                    rate[new] = own_rate
                px, py, pz = ex, ey, ez
                row += 1
        elif role == words.RATE:  # common between moves, so not by a call that takes arrays
            if seen & ~_OF_RATE:
                reason = BY_WORDS
                break
            own = U(rest[here])
            bead = travel = draw = 0.0
            if seen >> _S & 1:
                bead = travel = values[own, _S] * real[at.SCALE]
            if seen >> _P & 1 and values[own, _P] > 0.0:
                bead = values[own, _P] * real[at.SCALE]
            if seen >> _T & 1 and values[own, _T] > 0.0:
                travel = values[own, _T] * real[at.SCALE]
            if seen >> _R & 1:
                draw = values[own, _R] * real[at.SCALE]
            if bead > 0.0:
                real[at.BEAD_RATE] = bead_rate = bead
            if travel > 0.0:
                real[at.TRAVEL_RATE] = travel_rate = travel
            if draw > 0.0:
                real[at.DRAW_RATE] = draw_rate = draw
            if bead > 0.0 or travel > 0.0 or draw > 0.0:
                rated = True
                if whole[at.RATED] == 0:
                    whole[at.RATED] = row + 1
        elif role == words.PASS or role == words.COUNT:
            if command >= 0 and role == words.COUNT:
                counts[command] += 1
        else:
            if whole[at.STATES] + 1 >= held.shape[0]:
                reason = NO_ROOM_FOR_STATES
                break
            _store(real, whole, px, py, pz, fed, pace, row, mode)
            own = rest[here]
            if own < 0:  # an arc by its ends alone
                reason = BY_WORDS
                break
            if role == words.ARC:
                reason = _round(
                    command, seen, values, own, real, whole, kind, x, y, z, length, filament, speed, rate, bend, held,
                )  # fmt: skip
            elif not _change(role, command, seen, values, own, real, whole):
                reason = BY_WORDS
            px, py, pz, fed, pace, row, mode = _loaded(real, whole)
            fresh = True
            if reason != ALL_READ:
                break
        whole[at.LINE] += 1
        line += 1
    _store(real, whole, px, py, pz, fed, pace, row, mode)
    return line, reason
