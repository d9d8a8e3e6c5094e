"""Curves through many sets of points at once: what one calibration does, for a thousand machines."""

from collections.abc import Callable

import numpy as np

from anglewright.calibration.lines import fit_lines
from anglewright.calibration.models.fitted import Fitted
from anglewright.calibration.models.loaded import LEAST_LOAD, MOST_LOAD, LoadedDivider
from anglewright.calibration.models.table import NEAR, MonotoneTable
from anglewright.links.protocol import Array

ROUNDS = 4  # of the search for a load, which starts from the usual one: each squares what is left [1]


def read_by_curves(fitted: Fitted, x: Array, y: Array, *, usual: Array, read: Array) -> Array:
    r"""What the curve through each row's own points makes of other codes of the same row.

    Parameters
    ----------
    fitted : Fitted
        The model through the points of a usual row, from which the others differ little. [rad or m]
    x, y : array, (B, V)
        Codes and positions of V points of each of B rows. [count, rad or m]
    usual : array, (V,)
        Codes of the usual row. [count]
    read : array, (B, P)
        Codes to be read. [count]

    Returns
    -------
    array, (B, P)
        Their positions. [rad or m]

    Raises
    ------
    LinAlgError
        The points of a row do not tell the parameters from one another.

    Notes
    -----
    All points weigh the same. A model that is linear in its parameters is solved at once, from the usual
    curve on, with columns that are orthonormal at the usual codes. The load of a divider is found by the
    projected steps of Gauss and Newton, offset and span being those of the straight line that is left. The
    usual table is stretched, on straight pieces of codes and of positions, until it goes through the means
    of a row: the same cubic where codes differ by shift and scale, and positions by a shift.

    References
    ----------
    lawson-hanson

    Examples
    --------
    Two machines and a parabola, each through its own three points:

    >>> from anglewright.calibration.models.bent import Polynomial
    >>> usual, y = np.array([0.0, 50.0, 100.0]), np.array([[0.0, 4.0, 10.0], [1.0, 5.0, 11.0]])
    >>> fitted = Polynomial(degree=2, span=(0.0, 100.0)).fit(usual, y[0], weights=np.ones(3))
    >>> x = np.stack([usual, usual])
    >>> read_by_curves(fitted, x, y, usual=usual, read=x).round(9).tolist()
    [[0.0, 4.0, 10.0], [1.0, 5.0, 11.0]]
    """
    model = fitted.model
    if isinstance(model, MonotoneTable):
        return _by_tables(fitted, model.nodes, x, y, usual=usual, read=read)
    if isinstance(model, LoadedDivider):
        return _by_dividers(model, float(fitted.values[2]), x, y, read=read)
    return _by_designs(fitted, x, y, usual=usual, read=read)


def _by_designs(fitted: Fitted, x: Array, y: Array, *, usual: Array, read: Array) -> Array:
    """Linear models; the builds lie next to each other in memory."""
    model, values = fitted.model, fitted.values
    even = np.linalg.inv(np.linalg.qr(model.jacobian(values, usual))[1])

    def act(codes: Array) -> Array:
        return _each(lambda flat: model.jacobian(values, flat) @ even, codes)

    columns, off = act(x), y.T - _each(fitted.predict, x)
    squares = np.einsum("vbi,vbj->bij", columns, columns)
    moved = np.linalg.solve(squares, np.einsum("vbi,vb->bi", columns, off)[..., None])[..., 0]
    return np.asarray((_each(fitted.predict, read) + np.einsum("pbi,bi->pb", act(read), moved)).T)


def _each(curve: Callable[[Array], Array], codes: Array) -> Array:
    """A curve of codes in a row, for codes (B, P): (P, B), or (P, B, p) where it has columns."""
    found = curve(codes.T.ravel())
    return found.reshape(*codes.T.shape, *found.shape[1:])


def _by_dividers(model: LoadedDivider, usual: float, x: Array, y: Array, *, read: Array) -> Array:
    """Each row with its own load, which is kept within what a calibration looks for."""
    load = np.full((len(x), 1), usual)
    for _ in range(ROUNDS):
        place = model.place(load, x)
        offset, span = fit_lines(place, y)
        change = span[:, None] * model.place_by_load(load, x)
        free = change - _along(fit_lines(place, change), place)
        left = y - _along((offset, span), place)
        size, found = np.sum(free * free, axis=1), np.sum(free * left, axis=1)
        step = np.divide(found, size, out=np.zeros_like(found), where=size > 0.0)
        load = np.clip(load + step[:, None], LEAST_LOAD, MOST_LOAD)
    return _along(fit_lines(model.place(load, x), y), model.place(load, read))


def _along(line: tuple[Array, Array], place: Array) -> Array:
    offset, slope = line
    return np.asarray(offset[:, None] + slope[:, None] * place)


def _by_tables(fitted: Fitted, nodes: Array, x: Array, y: Array, *, usual: Array, read: Array) -> Array:
    """The usual table, bent so that it goes through the means of each row's own points.

    A piece narrower than a quarter of the usual one counts as that wide: a calibration joins such nodes.
    """
    owned = np.eye(len(nodes))[np.argmin(np.abs(usual[:, None] - nodes), axis=1)]
    share = (owned / owned.sum(axis=0)).T
    codes, off = np.sort(share @ x.T, axis=0), share @ y.T - fitted.values[:, None]
    wide = np.maximum(np.diff(codes, axis=0), NEAR * float(np.median(np.diff(nodes))))
    even, moved = np.full(read.T.shape, nodes[0]), np.repeat(off[:1], read.shape[1], axis=0)
    for piece, width in enumerate(wide):
        ends = (0.0 if piece else -np.inf, width if piece < len(wide) - 1 else np.inf)
        share_of_piece = np.clip(read.T - codes[piece], *ends) / width
        even += (nodes[piece + 1] - nodes[piece]) * share_of_piece
        moved += (off[piece + 1] - off[piece]) * share_of_piece
    return np.asarray((_each(fitted.predict, even.T) + moved).T)
