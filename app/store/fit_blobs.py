"""A fit as bytes: numbers in numpy's own archive format, the rest as JSON inside it."""

import io
import json
import zipfile
from dataclasses import asdict
from functools import lru_cache
from typing import Any, Final

import numpy as np

from app.domain.nursery_fits import GroupTimes, NurseryFit, OpenBatches
from app.stats.failure_curves import FailureCurve

_FORMAT: Final = 1


def pack_fit(fit: NurseryFit) -> bytes:
    """Return the fit as bytes; masses are kept in single precision."""
    words: dict[str, Any] = {
        "format": _FORMAT,
        "finished": fit.finished,
        "finished_by_genus": list(fit.finished_by_genus.items()),
        "cluster_nodes": fit.cluster_nodes,
        "concentrations": fit.concentrations,
        "onset_scale": fit.onset_scale,
        "onset_sds": fit.onset_sds,
        "failures": [(genus, asdict(curve)) for genus, curve in fit.failures.items()],
        "times": [(times.genus, times.cutting_type, times.finished) for times in fit.times],
        "share_genera": list(fit.shares_by_genus),
    }
    buffer = io.BytesIO()
    np.savez(
        buffer,
        words=np.frombuffer(json.dumps(words).encode(), dtype=np.uint8),
        times=_single([times.masses for times in fit.times]),
        genus_shares=_single(list(fit.shares_by_genus.values())),
        batch_ids=fit.open_batches.batch_ids,
        share_logs=fit.open_batches.share_logs.astype(np.float32),
        share_priors=fit.open_batches.share_priors.astype(np.float32),
        onset_priors=fit.open_batches.onset_priors.astype(np.float32),
    )
    return buffer.getvalue()


@lru_cache(maxsize=2)
def unpack_fit(blob: bytes) -> NurseryFit | None:
    """Return the fit, or None where the bytes are of another format and must be made anew.

    The same bytes give the same fit again: each saved check asks for it. It is not to be changed.
    """
    if not zipfile.is_zipfile(io.BytesIO(blob)):
        return None
    with np.load(io.BytesIO(blob), allow_pickle=False) as arrays:
        words = json.loads(arrays["words"].tobytes().decode())
        if words["format"] != _FORMAT:
            return None
        return NurseryFit(
            finished=words["finished"],
            finished_by_genus=dict(words["finished_by_genus"]),
            cluster_nodes=tuple((k, weight) for k, weight in words["cluster_nodes"]),
            concentrations=tuple(words["concentrations"]),
            onset_scale=words["onset_scale"],
            onset_sds=tuple(words["onset_sds"]),
            failures={genus: FailureCurve(**curve) for genus, curve in words["failures"]},
            times=tuple(
                GroupTimes(genus=genus, cutting_type=kind, finished=finished, masses=row)
                for (genus, kind, finished), row in zip(
                    words["times"], arrays["times"].astype(float), strict=True
                )
            ),
            shares_by_genus=dict(
                zip(words["share_genera"], arrays["genus_shares"].astype(float), strict=True)
            ),
            open_batches=OpenBatches(
                batch_ids=arrays["batch_ids"],
                share_logs=arrays["share_logs"].astype(float),
                share_priors=arrays["share_priors"].astype(float),
                onset_priors=arrays["onset_priors"].astype(float),
            ),
        )


def _single(rows: list[Any]) -> Any:
    return np.stack(rows).astype(np.float32)
