"""The version number that an editable record carries, so that no edit is silently overwritten."""

from typing import Any

from sqlalchemy.orm import Mapped, declared_attr, mapped_column


class Versioned:
    """Adds a `version` that counts up with every saved change and refuses a stale one."""

    version: Mapped[int] = mapped_column(default=1)

    @declared_attr.directive
    def __mapper_args__(cls) -> dict[str, Any]:  # noqa: N805 - SQLAlchemy passes the class
        """Return the mapper setting that makes SQLAlchemy compare and count the version."""
        return {"version_id_col": cls.__table__.c.version}  # type: ignore[attr-defined]
