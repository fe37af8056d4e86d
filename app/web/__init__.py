"""HTTP: pages and forms. They translate a request, call, and answer; no rule lives here."""

from typing import TYPE_CHECKING, Final

from flask import Flask

from app.store.session import Database
from app.web.api import plant_names as plant_name_suggestions
from app.web.api import plants, starting_values
from app.web.forms.base import new_post_key
from app.web.look import fit_look
from app.web.pages import (
    archives,
    assumptions,
    batch_moves,
    batches,
    bench_maps,
    bench_moves,
    bench_sticking,
    bench_walks,
    benches,
    calculators,
    calendar_feeds,
    check_plans,
    checks,
    comparisons,
    containers,
    dispatches,
    exports,
    first_start,
    genera,
    holds,
    hormones,
    imports,
    in_season,
    label_numbers,
    labels,
    licences,
    liner_lots,
    liner_stages,
    lines,
    lost_causes,
    method_cards,
    mix_lots,
    mixes,
    nursery,
    order_batches,
    order_questions,
    orders,
    passwords,
    people,
    photographs,
    plant_names,
    plant_passports,
    practical_batches,
    practical_cautions,
    practicals,
    preparing_sheets,
    rate_workings,
    records,
    round_sheets,
    rounds,
    search,
    season_lines,
    seasons,
    sign_in,
    standouts,
    sticking,
    stock_plant_events,
    stock_plants,
    strike_rates,
    times_to_root,
    today,
    training_records,
    treatments,
    waiting,
    work_speeds,
)
from app.web.permissions import guard_routes
from app.web.problems import show_problems
from app.web.protection import protect
from app.web.requests import Running, start_running
from app.web.sessions import keep_sessions

if TYPE_CHECKING:
    from app.clock import Clock
    from app.settings import Settings

# One line per noun, by name.
BLUEPRINTS: Final = (
    archives.blueprint,
    assumptions.blueprint,
    batch_moves.blueprint,
    batches.blueprint,
    bench_maps.blueprint,
    bench_moves.blueprint,
    bench_sticking.blueprint,
    bench_walks.blueprint,
    benches.blueprint,
    calculators.blueprint,
    calendar_feeds.blueprint,
    check_plans.blueprint,
    checks.blueprint,
    comparisons.blueprint,
    containers.blueprint,
    dispatches.blueprint,
    exports.blueprint,
    first_start.blueprint,
    genera.blueprint,
    holds.blueprint,
    hormones.blueprint,
    imports.blueprint,
    in_season.blueprint,
    licences.blueprint,
    lines.blueprint,
    liner_lots.blueprint,
    liner_stages.blueprint,
    label_numbers.blueprint,
    labels.blueprint,
    lost_causes.blueprint,
    method_cards.blueprint,
    mix_lots.blueprint,
    mixes.blueprint,
    nursery.blueprint,
    order_batches.blueprint,
    order_questions.blueprint,
    orders.blueprint,
    passwords.blueprint,
    people.blueprint,
    photographs.blueprint,
    plant_name_suggestions.blueprint,
    plant_names.blueprint,
    plant_passports.blueprint,
    plants.blueprint,
    practical_batches.blueprint,
    practical_cautions.blueprint,
    practicals.blueprint,
    preparing_sheets.blueprint,
    rate_workings.blueprint,
    records.blueprint,
    round_sheets.blueprint,
    rounds.blueprint,
    search.blueprint,
    season_lines.blueprint,
    seasons.blueprint,
    sign_in.blueprint,
    standouts.blueprint,
    starting_values.blueprint,
    sticking.blueprint,
    stock_plant_events.blueprint,
    stock_plants.blueprint,
    strike_rates.blueprint,
    times_to_root.blueprint,
    today.blueprint,
    training_records.blueprint,
    treatments.blueprint,
    waiting.blueprint,
    work_speeds.blueprint,
)


def build(settings: "Settings", *, clock: "Clock") -> Flask:
    """Return the application with every page, each behind its permission."""
    app = Flask("app.web")
    app.config.update(SECRET_KEY=settings.secret_key, TESTING=settings.testing)
    database = Database(settings.database_path)
    start_running(app, Running(settings=settings, database=database, clock=clock))
    protect(app, settings)
    keep_sessions(app)
    show_problems(app)
    fit_look(app)
    app.jinja_env.globals["new_post_key"] = new_post_key
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    guard_routes(app)
    return app
