"""The rows below a mix: its versions, their parts, and the ingredients they name."""

from sqlalchemy import delete, exists, func, or_, select
from sqlalchemy.orm import Session

from app.domain.mixes import MixEntry, MixPart
from app.store.models.batches import Batch
from app.store.models.mixes import Ingredient, MixLot, MixVersion
from app.store.models.mixes import MixPart as PartRow


def newest_version(session: Session, *, mix_id: int) -> MixVersion:
    """Return the version of a mix that holds now."""
    query = select(MixVersion).where(MixVersion.mix_id == mix_id)
    return session.scalars(query.order_by(MixVersion.number.desc()).limit(1)).one()


def is_used(session: Session, *, version_id: int) -> bool:
    """Return whether a batch, voided or not, or a mix lot names this version."""
    batch = exists().where(Batch.mix_version_id == version_id)
    lot = exists().where(MixLot.mix_version_id == version_id)
    return bool(session.scalar(select(or_(batch, lot))))


def recipe_of(session: Session, *, name: str, version: MixVersion) -> MixEntry:
    """Return a stored version as it would be entered."""
    query = (
        select(Ingredient.name, PartRow.parts)
        .join(Ingredient, Ingredient.id == PartRow.ingredient_id)
        .where(PartRow.mix_version_id == version.id)
        .order_by(PartRow.position)
    )
    parts = (
        MixPart(ingredient=ingredient, parts=parts) for ingredient, parts in session.execute(query)
    )
    return MixEntry(
        name=name,
        parts=tuple(parts),
        shrinkage_share=version.shrinkage_share,
        notes=version.notes,
    )


def set_parts(session: Session, *, version_id: int, parts: tuple[MixPart, ...]) -> None:
    """Give a version these parts, in this order, instead of those it had."""
    session.execute(delete(PartRow).where(PartRow.mix_version_id == version_id))
    for position, part in enumerate(parts, start=1):
        row = PartRow(
            mix_version_id=version_id,
            ingredient_id=keep_ingredient(session, name=part.ingredient),
            position=position,
            parts=part.parts,
        )
        session.add(row)
    session.flush()


def keep_ingredient(session: Session, *, name: str) -> int:
    """Return the id of an ingredient, added if it is new; capitals make no other ingredient."""
    query = select(Ingredient.id).where(func.lower(Ingredient.name) == name.lower())
    found = session.scalar(query)
    if found is not None:
        return found
    row = Ingredient(name=name)
    session.add(row)
    session.flush()
    return row.id
