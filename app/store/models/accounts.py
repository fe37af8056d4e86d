"""Signing in: accounts, sessions, one-time codes and what happened at the door."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from app.store.base import Base, UtcInstant
from app.store.versioned import Versioned


class Account(Versioned, Base):
    """A person's way in. Without a password hash nobody can sign in yet."""

    __tablename__ = "accounts"
    __table_args__ = (CheckConstraint("role IN ('trainee', 'head', 'manager')", name="known_role"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"), unique=True)
    role: Mapped[str]
    password_hash: Mapped[str] = mapped_column(default="")
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    disabled_at: Mapped[datetime | None] = mapped_column(UtcInstant)


class SessionRow(Base):
    """One sign-in on one device; only the hash of its token is kept."""

    __tablename__ = "sessions"

    token_hash: Mapped[str] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    began_at: Mapped[datetime] = mapped_column(UtcInstant)
    seen_at: Mapped[datetime] = mapped_column(UtcInstant)
    ended_at: Mapped[datetime | None] = mapped_column(UtcInstant)
    ended_why: Mapped[str] = mapped_column(default="")


class OneTimeCode(Base):
    """A code that makes the first head (no account yet) or sets a new password, once."""

    __tablename__ = "one_time_codes"

    id: Mapped[int] = mapped_column(primary_key=True)
    code_hash: Mapped[str] = mapped_column(unique=True)
    account_id: Mapped[int | None] = mapped_column(ForeignKey("accounts.id"))
    made_at: Mapped[datetime] = mapped_column(UtcInstant)
    expires_at: Mapped[datetime] = mapped_column(UtcInstant)
    used_at: Mapped[datetime | None] = mapped_column(UtcInstant)


class SignInEvent(Base):
    """A try at the door: whose name, from which address, and how it went."""

    __tablename__ = "sign_in_events"
    __table_args__ = (Index("ix_sign_in_events_name_address", "name_key", "address", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name_key: Mapped[str]
    address: Mapped[str]
    at: Mapped[datetime] = mapped_column(UtcInstant)
    outcome: Mapped[str]
