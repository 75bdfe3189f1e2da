"""What is broken, given what was seen: every combination of links, on all tracks together.

Links that can fail for all tracks at once tie the tracks to each other; given those, the
tracks know nothing of each other.  So the sum over the combinations of all tracks falls into
one over the links in common and, for each of these, one a track: exact, and as much work as
there are tracks.

Source: Bayes' rule with independent faults, several at a time, as in Diagnosing Multiple
Faults, Artificial Intelligence 32 (1987).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coilmeter.compute.chain_model import Floats, Model, repaired_before
from coilmeter.values.chains import Outcome, Seen


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Probabilities on one track, all evidence used.

    Parameters
    ----------
    combinations
        Probability of each combination of links that is broken there now, repaired ones
        taken out.
    broken
        Probability that each link is broken there now.
    common
        Probability that each link is broken for all tracks at once; part of `broken`.
    log_evidence
        Natural logarithm of the probability of all that was seen.

    """

    combinations: Floats
    broken: Floats
    common: Floats
    log_evidence: float

    @property
    def nothing(self) -> float:
        """Probability that no link is broken now."""
        return float(self.combinations[0])


def posterior(model: Model, seen: Sequence[Seen], track: str) -> Posterior:
    """Reckon what is broken on a track.

    Parameters
    ----------
    model
        The chain.
    seen
        What was seen on this and other tracks, in its order; outcomes repeated alike count
        once.
    track
        The track in question.

    Returns
    -------
    Posterior
        Probabilities of combinations and links.

    """
    tracks = list(dict.fromkeys([track, *(each.track for each in seen)]))
    likelihoods = {name: _likelihood(model, seen, name) for name in tracks}
    log_scale = sum(log for _, log in likelihoods.values())
    others = _common_prior(model)
    for name in tracks[1:]:
        others = others * _to_common(likelihoods[name][0], model.own)
    joint = likelihoods[track][0] * _from_common(others, model.own)
    whole = others * _to_common(likelihoods[track][0], model.own)
    total = float(joint.sum())
    mended = model.mask(
        each.name for each in seen if each.track == track and each.outcome is Outcome.REPAIRED
    )
    now: Floats = joint / total
    if mended:
        kept = np.arange(model.size) & ~mended
        now = np.asarray(np.bincount(kept, now, model.size), dtype=np.float64)
    still = 1.0 - model.broken[mended]
    return Posterior(
        combinations=now,
        broken=now @ model.broken,
        common=(whole / total) @ model.broken * still,
        log_evidence=float(np.log(total)) + log_scale,
    )


def _likelihood(model: Model, seen: Sequence[Seen], track: str) -> tuple[Floats, float]:
    """Probability of what was seen on one track, scaled, and the logarithm of the scale."""
    whole, log_scale = np.ones(model.size), 0.0
    here = [pair for pair in repaired_before(seen) if pair[0].track == track]
    for each, mended in dict.fromkeys(here):
        likelihood = model.of_seen(each)
        if mended:
            likelihood = likelihood[np.arange(model.size) & ~model.mask(mended)]
        whole = whole * likelihood
        largest = float(whole.max())
        whole /= largest
        log_scale += float(np.log(largest))
    return whole, log_scale


def _common_prior(model: Model) -> Floats:
    whole = np.ones(1)
    for chance in model.common:
        whole = np.concatenate([whole * (1 - chance), whole * chance])
    return whole


def _to_common(likelihood: Floats, own: Floats) -> Floats:
    """Sum over what is broken on one track alone, for each combination broken in common."""
    whole = likelihood
    for place, chance in enumerate(own):
        pairs = whole.reshape(-1, 2, 1 << place)
        whole = np.stack(
            [(1 - chance) * pairs[:, 0] + chance * pairs[:, 1], pairs[:, 1]], axis=1
        ).reshape(-1)
    return whole


def _from_common(common: Floats, own: Floats) -> Floats:
    """Spread combinations broken in common over what can be broken on one track with them."""
    whole = common
    for place, chance in enumerate(own):
        pairs = whole.reshape(-1, 2, 1 << place)
        whole = np.stack(
            [(1 - chance) * pairs[:, 0], chance * pairs[:, 0] + pairs[:, 1]], axis=1
        ).reshape(-1)
    return whole
