"""Write postings with their movements and liquids, and bring the balances up to date.

Every operation of the ledger ends here. The ledger never refuses a fact: when more leaves a
bin than the book has in it, the difference is booked from a named variance account in the same
posting, so that the bin ends at zero and the grams keep a name.

Postings are inserted before the balances are locked, so a repeat under the same client key
waits before it holds anything.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db import IntegrityError, transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict
from apps.kernel.words import gettext_noop
from apps.ledger.models import Liquid, Movement, Posting
from apps.ledger.operations.entry import Entry, check_entry
from apps.ledger.operations.move_balances import move_balances

KEYS_PER_QUERY = 500


class KeyUsedBefore(Conflict):
    """The client key already stands for another posting."""

    code = "key_used_before"


@dataclass(frozen=True, slots=True)
class Posted:
    """The posting; whether this was a repeat that changed nothing; grams booked from the
    variance account, by material code."""

    posting: Posting
    is_repeat: bool
    variance_g: Mapping[str, int] = field(default_factory=dict)


def post(group: Group, entry: Entry, *, now: datetime) -> Posted:
    """Write one entry once, with a fact for others to act on. Same key and same content: the
    first posting again; other content: `KeyUsedBefore`."""
    check_entry(entry, now=now)
    earlier = _earlier(group, [entry])
    if earlier:
        return earlier[entry.client_key]
    try:
        with transaction.atomic():
            [posted] = _write(group, [entry])
            _tell(group, entry, posted.posting)
            return posted
    except IntegrityError:
        # Somebody else wrote the same key while we waited; anything else is a real fault.
        earlier = _earlier(group, [entry])
        if not earlier:
            raise
        return earlier[entry.client_key]


def post_first(group: Group, entry: Entry, *, now: datetime) -> Posted:
    """Write an entry inside the transaction of a caller whose own lock lets nobody else write
    under this key, and who records a fact of its own. The key still refuses a second."""
    check_entry(entry, now=now)
    try:
        [posted] = _write(group, [entry])
    except IntegrityError as error:
        raise KeyUsedBefore(
            gettext_noop(
                "This key stands for something else in the book. Reload the page and try again."
            )
        ) from error
    return posted


@transaction.atomic
def post_history(group: Group, entries: Sequence[Entry], *, now: datetime) -> list[Posted]:
    """Write many past entries at once, in their order, all or none; repeats change nothing.
    No facts: the past is learnt from, not acted on."""
    for entry in entries:
        check_entry(entry, now=now)
    posted = _earlier(group, entries)
    fresh = [entry for entry in entries if entry.client_key not in posted]
    posted |= {written.posting.client_key: written for written in _write(group, fresh)}
    return [posted[entry.client_key] for entry in entries]


def _earlier(group: Group, entries: Sequence[Entry]) -> dict[str, Posted]:
    """What the ledger already has under the entries' keys, by key."""
    by_key = {entry.client_key: entry for entry in entries}
    keys = list(by_key)
    found: dict[str, Posted] = {}
    for start in range(0, len(keys), KEYS_PER_QUERY):
        chunk = keys[start : start + KEYS_PER_QUERY]
        for posting in Posting.objects.of(group).filter(client_key__in=chunk):
            if posting.content_hash != by_key[posting.client_key].content_hash:
                raise KeyUsedBefore(
                    gettext_noop(
                        "This was already recorded on %(on)s with other figures. Look at what is "
                        "there; to change it, reverse it and record it again."
                    ),
                    figures={"on": posting.on, "posting": str(posting.uuid)},
                )
            found[posting.client_key] = Posted(posting, is_repeat=True)
    return found


def _write(group: Group, entries: Sequence[Entry]) -> list[Posted]:
    postings = Posting.unscoped.bulk_create(
        [
            Posting(
                group=group,
                kind=entry.kind,
                happened_at=entry.happened_at,
                on=entry.on,
                recorded_by_uuid=entry.recorded_by_uuid,
                client_key=entry.client_key,
                content_hash=entry.content_hash,
                note=entry.note,
                reverses=entry.reverses,
            )
            for entry in entries
        ]
    )
    variances = move_balances(group, [entry.moves for entry in entries])
    Movement.unscoped.bulk_create(
        Movement(
            group=group,
            posting=posting,
            from_account=move.from_account,
            to_account=move.to_account,
            material=move.material,
            amount_g=move.amount_g,
        )
        for posting, entry, found in zip(postings, entries, variances, strict=True)
        for move in (*found, *entry.moves)
    )
    Liquid.unscoped.bulk_create(
        Liquid(
            group=group,
            posting=posting,
            account=pour.account,
            kind=pour.kind,
            amount_ml=pour.amount_ml,
        )
        for posting, entry in zip(postings, entries, strict=True)
        for pour in entry.pours
    )
    return [
        Posted(posting, False, {move.material.code: move.amount_g for move in found})
        for posting, found in zip(postings, variances, strict=True)
    ]


def _tell(group: Group, entry: Entry, posting: Posting) -> None:
    record_fact(
        group,
        f"{entry.kind}_posted",
        happened_at=entry.happened_at,
        subject_uuid=posting.uuid,
        actor_uuid=entry.recorded_by_uuid,
        payload={"on": entry.on.isoformat()},
    )
