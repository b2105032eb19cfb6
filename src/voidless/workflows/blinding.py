"""Blind codes and test order of specimens, from a secret that only the campaign's records hold."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping, Sequence

import numpy as np

from voidless.campaign.types import Build
from voidless.design.blinding import specimen_test_order
from voidless.records.store import Store
from voidless.records.writer import Writer
from voidless.specimens.order import SpecimenOrder

__all__ = ["blind_rng", "keep_secret", "labelled", "test_order"]

_KIND = "blinding"


def keep_secret(writer: Writer, secret: str) -> None:
    """Store the secret of a new campaign."""
    writer.add_derived(_KIND, {"secret": secret})


def blind_rng(store: Store, build: str, run: str) -> np.random.Generator:
    """
    Return the generator of codes and test order of a run's specimens, the same whenever asked.

    Campaigns from before there was a secret keep the codes that they had, which follow from campaign and build.
    """
    from voidless.workflows.training import rng_of  # heavy, and a new campaign needs none of it

    stored = store.latest_derived(_KIND)
    if stored is None:
        return rng_of(hashlib.sha256((build + store.campaign_id).encode()).hexdigest())
    message = f"{store.campaign_id}/{build}/{run}".encode()
    assert isinstance(stored.payload, Mapping)
    return rng_of(hmac.new(bytes.fromhex(str(stored.payload["secret"])), message, "sha256").hexdigest())


def labelled(orders: Sequence[SpecimenOrder]) -> dict[str, str]:
    """Return the kind of each specimen of a run by its label."""
    return {f"{order.kind}_{n}": order.kind for order in orders for n in range(1, order.count + 1)}


def test_order(store: Store, orders: Sequence[SpecimenOrder], build: Build) -> list[tuple[str, str]]:
    """Return blind code and label of a run's specimens in the order in which to test, the same whenever asked."""
    return specimen_test_order(tuple(labelled(orders)), blind_rng(store, build.label, build.run))
