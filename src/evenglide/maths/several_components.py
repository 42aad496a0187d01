r"""Restricted maximum likelihood for several variance components, in batches.

.. math:: y = X b + \sum_k Z_k u_k + e, \quad u_k \sim N(0, \theta_k I), \quad e \sim N(0, \sigma^2 I)

With T an orthonormal basis of the part of :math:`[Z_1\, Z_2 \dots]` that X leaves,
:math:`w = T^\top y`, :math:`G_k = T^\top Z_k Z_k^\top T`, the variance of w is
:math:`V = \sigma^2 I + \sum \theta_k G_k`, and ``sse`` on :math:`m_0` directions is :math:`\sigma^2 \chi^2`.
With :math:`P = V^{-1}`

.. math::

   \text{score}_k &= -\tfrac12 \operatorname{tr} P G_k + \tfrac12 w^\top P G_k P w \\
   \text{observed information}_{jk} &= -\tfrac12 \operatorname{tr} P G_j P G_k + w^\top P G_j P G_k P w

and for a contrast, :math:`a` its least-squares weights, :math:`g_k = T^\top Z_k Z_k^\top a`,
:math:`h_k = |Z_k^\top a|^2`, :math:`b = \sum \theta_k g_k`:

.. math:: \hat{c^\top b} = a^\top y - b^\top P w, \qquad
          f = \sigma^2 a^\top a + \sum \theta_k h_k - b^\top P b

Where the :math:`G_k` commute (balanced designs) T is turned to their joint eigenvectors; with as many
distinct strata as components the mean squares of the strata give the answer in closed form. Otherwise two
steps of Fisher scoring, then Newton steps while the information is positive definite, each shortened until
the likelihood rises. Components are not negative: the answer is the best of the models that leave some of
them out, among those whose components all come out above nought.

Degrees of freedom follow Satterthwaite over the components above nought, as in
:mod:`evenglide.maths.components`.

References: Searle, Casella & McCulloch, Variance Components (1992), chapter 6 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from evenglide.maths.blocks import compact
from evenglide.maths.components import LEAST_DF, MOST_DF
from evenglide.maths.mixed_design import RANK_TOLERANCE, fixed_basis, level_of
from evenglide.typing import BoolArray, FloatArray, IntArray

COMMUTES = 1e-9
"""Off-diagonal rest, as a share of the largest entry, that joint eigenvectors may leave."""
SCORING_STEPS = 2
MOST_STEPS = 200
CONVERGED = 1e-10
"""Change of every component, as a share of their sum, below which a fit has arrived."""
SHORTENED = 0.4
MOST_SHORTENINGS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class SeveralDesign:
    """Everything that a fit of several components needs to know of its design.

    Parameters
    ----------
    basis : array of float, shape (n, p)
        Orthonormal basis of the fixed columns.
    directions : array of float, shape (n, r)
        T.
    matrices : array of float, shape (q, r, r)
        G_k, diagonal where `commutes`.
    commutes : bool
        The G_k have joint eigenvectors.
    weights : array of float, shape (n, contrasts)
        a.
    coupling : array of float, shape (q, r, contrasts)
        g_k.
    sums : array of float, shape (q, contrasts)
        h_k.
    residual_df : int
        m0.
    """

    basis: FloatArray
    directions: FloatArray
    matrices: FloatArray
    commutes: bool
    weights: FloatArray
    coupling: FloatArray
    sums: FloatArray
    residual_df: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SeveralFit:
    """Fits of one design with q components to S studies.

    Parameters
    ----------
    estimate, se, df : array of float, shape (contrasts, S)
    variances : array of float, shape (q, S)
        Of the groupings, in their order; exactly 0 on the boundary.
    residual_variance : array of float, shape (S,)
    boundary : array of bool, shape (q, S)
        Components that were left out.
    """

    estimate: FloatArray
    se: FloatArray
    df: FloatArray
    variances: FloatArray
    residual_variance: FloatArray
    boundary: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Data:
    """A design and what it needs of some studies: w, shape (S, r), and sse, shape (S,)."""

    design: SeveralDesign
    w: FloatArray
    sse: FloatArray

    def take(self, rows: IntArray) -> _Data:
        return replace(self, w=self.w[rows], sse=self.sse[rows])


def several_design(x: FloatArray, groups: Sequence[IntArray], *, contrasts: FloatArray) -> SeveralDesign:
    """Take a design with several random groupings apart.

    Parameters
    ----------
    x : array of float, shape (n, columns)
    groups : sequence of array of int, shape (n,)
        One per component.
    contrasts : array of float, shape (columns, contrasts)

    Returns
    -------
    SeveralDesign

    Raises
    ------
    ValueError
        If a contrast cannot be estimated, or nothing is left to tell the components from the residual.
    """
    basis, weights = fixed_basis(np.asarray(x, dtype=np.float64), np.asarray(contrasts, dtype=np.float64))
    marks = [_indicators(group) for group in groups]
    together = np.concatenate(marks, axis=1)
    left, singular, _ = np.linalg.svd(together - basis @ (basis.T @ together), full_matrices=False)
    t = left[:, singular**2 > RANK_TOLERANCE * max(1.0, float((singular**2).max(initial=0.0)))]
    residual_df = len(x) - basis.shape[1] - t.shape[1]
    if residual_df <= 0 or t.shape[1] < len(marks):
        msg = "the components cannot be told from what is left: too few launches or groups"
        raise ValueError(msg)
    matrices = np.stack([(t.T @ z) @ (z.T @ t) for z in marks])
    turned = _joint_eigenvectors(matrices)
    if turned is not None:
        t = t @ turned
        matrices = np.stack([np.diag(np.diag(turned.T @ g @ turned)) for g in matrices])
    return SeveralDesign(
        basis=basis,
        directions=t,
        matrices=matrices,
        commutes=turned is not None,
        weights=weights,
        coupling=np.stack([t.T @ (z @ (z.T @ weights)) for z in marks]),
        sums=np.stack([((z.T @ weights) ** 2).sum(axis=0) for z in marks]),
        residual_df=residual_df,
    )


def fit_components(design: SeveralDesign, y: FloatArray) -> SeveralFit:
    """Fit several variance components, none below nought, to any number of studies.

    Parameters
    ----------
    design : SeveralDesign
    y : array of float, shape (n,) or (n, S)
        Component-first; one dimension is one study.

    Returns
    -------
    SeveralFit
    """
    y = np.asarray(y, dtype=np.float64).reshape(len(y), -1)
    near = y - y[0]
    left = near - design.basis @ (design.basis.T @ near)
    w = design.directions.T @ left
    sse = ((left - design.directions @ w) ** 2).sum(axis=0)
    ols = design.weights.T @ near + level_of(design.weights)[:, np.newaxis] * y[0]
    data = _Data(design=design, w=w.T, sse=sse)
    theta = np.zeros((y.shape[1], len(design.matrices) + 1))
    pending = np.arange(y.shape[1])
    closed = closed_form(design, w, sse)
    if closed is not None:
        fits = (closed[:, :-1] >= 0.0).all(axis=1)
        theta[fits] = closed[fits]
        pending = np.flatnonzero(~fits)
    if pending.size:
        theta[pending] = _best_feasible(data.take(pending))
    return _told(theta, data, ols)


def closed_form(design: SeveralDesign, w: FloatArray, sse: FloatArray) -> FloatArray | None:
    """Components and residual from the mean squares of strata, or None where that is no maximum.

    Parameters
    ----------
    design : SeveralDesign
    w : array of float, shape (r, S)
    sse : array of float, shape (S,)

    Returns
    -------
    array of float, shape (S, q + 1), or None
        Of either sign.
    """
    if not design.commutes:
        return None
    values = np.diagonal(design.matrices, axis1=1, axis2=2).T
    near = np.round(values / values.max(), 9)
    strata, place = np.unique(near, axis=0, return_inverse=True)
    place = place.reshape(-1)
    if len(strata) != len(design.matrices):
        return None
    size = np.bincount(place)
    mean = np.stack([np.bincount(place, weights=column) for column in values.T], axis=1) / size[:, None]
    if np.linalg.matrix_rank(mean) < len(strata):
        return None
    squares = np.stack([(w[place == i] ** 2).sum(axis=0) for i in range(len(strata))]) / size[:, None]
    residual = sse / design.residual_df
    return np.concatenate([np.linalg.solve(mean, squares - residual), residual[np.newaxis]]).T


# ------------------------------------------------------------------------------ design


def _indicators(group: IntArray) -> FloatArray:
    dense = compact(group)
    return np.equal(dense[:, np.newaxis], np.arange(dense.max(initial=-1) + 1)).astype(np.float64)


def _joint_eigenvectors(matrices: FloatArray) -> FloatArray | None:
    """Eigenvectors shared by all matrices, or None; an odd mixture of them has no eigenvalue by chance."""
    mixture = np.tensordot(np.sqrt(np.arange(2.0, len(matrices) + 2.0)), matrices, axes=1)
    _, vectors = np.linalg.eigh(mixture)
    for g in matrices:
        turned = vectors.T @ g @ vectors
        rest = turned - np.diag(np.diag(turned))
        if np.abs(rest).max(initial=0.0) > COMMUTES * np.abs(turned).max(initial=0.0):
            return None
    return np.asarray(vectors, dtype=np.float64)


# ------------------------------------------------------------------------------ maximum


def _best_feasible(data: _Data) -> FloatArray:
    """Best of the models with some components left out, shape (S, q + 1)."""
    q, sse = len(data.design.matrices), data.sse
    best = np.zeros((len(sse), q + 1))
    best[:, -1] = (sse + (data.w**2).sum(axis=1)) / (data.design.residual_df + data.w.shape[1])
    height = _likelihood(best, data)
    settled = np.zeros(len(sse), dtype=np.bool_)
    for count in range(q, 0, -1):
        found = settled.copy()
        for active in combinations(range(q), count):
            rows = np.flatnonzero(~settled)
            if not rows.size:
                continue
            theta = _climbed(data.take(rows), active)
            own = _likelihood(theta, data.take(rows))
            better = (theta[:, :-1] >= 0.0).all(axis=1) & (own > height[rows])
            best[rows[better]], height[rows[better]] = theta[better], own[better]
            if count == q:
                found[rows[better]] = True
        settled = found
    return best


def _covariance(theta: FloatArray, design: SeveralDesign) -> tuple[FloatArray, FloatArray, BoolArray]:
    """V^-1, log det V, and whether V is positive definite, shapes (S, r, r), (S,), (S,)."""
    v = np.tensordot(theta[:, :-1], design.matrices, axes=1)
    v += theta[:, -1, np.newaxis, np.newaxis] * np.eye(v.shape[-1])
    values, vectors = np.linalg.eigh(v)
    fine = (values[:, 0] > 1e-12 * values[:, -1]) & (theta[:, -1] > 0.0)
    values = np.where(fine[:, np.newaxis], values, 1.0)
    inverse = (vectors / values[:, np.newaxis, :]) @ np.swapaxes(vectors, 1, 2)
    return inverse, np.log(values).sum(axis=1), fine


def _likelihood(theta: FloatArray, data: _Data) -> FloatArray:
    """Restricted log likelihood but for a constant; minus infinity where V is not positive definite."""
    inverse, logdet, fine = _covariance(theta, data.design)
    residual = np.where(fine, theta[:, -1], 1.0)
    quadratic = np.einsum("si,sij,sj->s", data.w, inverse, data.w)
    told = -0.5 * (logdet + quadratic + data.design.residual_df * np.log(residual) + data.sse / residual)
    return np.where(fine, told, -np.inf)


def _score_and_information(
    theta: FloatArray, data: _Data, active: Sequence[int]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Score, observed and expected information over the active components and the residual, which is last."""
    design, w, sse = data.design, data.w, data.sse
    inverse, _, _ = _covariance(theta, design)
    matrices = np.concatenate([design.matrices[list(active)], np.eye(w.shape[1])[np.newaxis]])
    pw = np.einsum("sij,sj->si", inverse, w)
    products = np.einsum("sij,kjl->skil", inverse, matrices)
    gpw = np.einsum("kij,sj->ski", matrices, pw)
    score = 0.5 * (np.einsum("si,ski->sk", pw, gpw) - np.einsum("skii->sk", products))
    expected = 0.5 * np.einsum("sjab,skba->sjk", products, products)
    observed = np.einsum("sja,sab,skb->sjk", gpw, inverse, gpw) - expected
    s2 = theta[:, -1]
    score[:, -1] += -design.residual_df / (2 * s2) + sse / (2 * s2**2)
    expected[:, -1, -1] += design.residual_df / (2 * s2**2)
    observed[:, -1, -1] += sse / s2**3 - design.residual_df / (2 * s2**2)
    return score, observed, expected


def _climbed(data: _Data, active: Sequence[int]) -> FloatArray:
    """Maximum over the active components, of either sign, from all of them equal to the residual."""
    design, sse = data.design, data.sse
    theta = np.zeros((len(sse), len(design.matrices) + 1))
    theta[:, [*active, -1]] = (sse / design.residual_df)[:, np.newaxis]
    place = [*active, len(design.matrices)]
    height = _likelihood(theta, data)
    going = np.arange(len(sse))
    for number in range(MOST_STEPS):
        here = theta[going]
        score, observed, expected = _score_and_information(here, data.take(going), active)
        information = expected
        if number >= SCORING_STEPS:
            definite = np.linalg.eigvalsh(observed)[:, 0] > 0.0
            information = np.where(definite[:, np.newaxis, np.newaxis], observed, expected)
        step = np.zeros_like(here)
        step[:, place] = np.linalg.solve(information, score[..., np.newaxis])[..., 0]
        moved, height[going] = _uphill(data.take(going), here, step=step, height=height[going])
        theta[going] = moved
        small = np.abs(moved - here).max(axis=1) <= CONVERGED * np.abs(moved).sum(axis=1)
        going = going[~small]
        if not going.size:
            break
    return theta


def _uphill(
    data: _Data, here: FloatArray, *, step: FloatArray, height: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Take each step, shortened until the likelihood does not fall; stay where it never rises."""
    moved, reached = here + step, np.full(len(here), -np.inf)
    scale = np.ones(len(here))
    for _ in range(MOST_SHORTENINGS):
        low = np.flatnonzero(~(reached >= height - 1e-13 * np.abs(height)))
        if not low.size:
            break
        moved[low] = here[low] + scale[low, np.newaxis] * step[low]
        reached[low] = _likelihood(moved[low], data.take(low))
        scale[low] *= SHORTENED
    fell = ~(reached >= height - 1e-13 * np.abs(height))
    return np.where(fell[:, np.newaxis], here, moved), np.where(fell, height, reached)


# ------------------------------------------------------------------------------ what is told of a fit


def _told(theta: FloatArray, data: _Data, ols: FloatArray) -> SeveralFit:
    design, w = data.design, data.w
    inverse, _, _ = _covariance(theta, design)
    components, residual = theta[:, :-1], theta[:, -1]
    b = np.einsum("sk,krc->scr", components, design.coupling)
    pb = np.einsum("sij,scj->sci", inverse, b)
    own = (design.weights**2).sum(axis=0)
    form = residual[:, np.newaxis] * own + components @ design.sums - np.einsum("scr,scr->sc", b, pb)
    by_component = (
        design.sums.T
        - 2.0 * np.einsum("krc,scr->sck", design.coupling, pb)
        + np.einsum("sci,kij,scj->sck", pb, design.matrices, pb)
    )
    by_residual = own + np.einsum("scr,scr->sc", pb, pb)
    gradient = np.concatenate([by_component, by_residual[..., np.newaxis]], axis=2)
    df = np.empty_like(form)
    for pattern in np.unique(components > 0.0, axis=0):
        rows = np.flatnonzero(((components > 0.0) == pattern).all(axis=1))
        active = np.flatnonzero(pattern).tolist()
        _, observed, expected = _score_and_information(theta[rows], data.take(rows), active)
        definite = np.linalg.eigvalsh(observed)[:, 0] > 0.0
        information = np.where(definite[:, np.newaxis, np.newaxis], observed, expected)
        slopes = gradient[rows][:, :, [*active, len(pattern)]]
        bent = np.einsum("sck,skl,scl->sc", slopes, np.linalg.inv(information), slopes)
        df[rows] = np.clip(2.0 * form[rows] ** 2 / bent, LEAST_DF, MOST_DF)
    return SeveralFit(
        estimate=ols - np.einsum("scr,sr->cs", pb, w),
        se=np.sqrt(form).T,
        df=df.T,
        variances=components.T,
        residual_variance=residual,
        boundary=(components <= 0.0).T,
    )
