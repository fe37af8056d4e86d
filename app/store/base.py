"""What all models share: the declarative base, names of constraints, and the column types."""

from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import DateTime, Dialect, MetaData, TypeDecorator
from sqlalchemy.orm import DeclarativeBase

NAMING: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """The base of every model; each constraint gets a name, so that it can be changed later."""

    metadata = MetaData(naming_convention=NAMING)


class UtcInstant(TypeDecorator[datetime]):
    """An instant: aware UTC in Python, stored without its zone."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:  # noqa: ARG002 - the dialect is SQLAlchemy's signature
        """Return the instant as naive UTC for storing.

        Raises:
            ValueError: the instant carries no zone.
        """
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("an instant needs its zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - as above
        """Return the stored instant as aware UTC."""
        return None if value is None else value.replace(tzinfo=UTC)
