"""All screens that need somebody signed in."""

from fastapi import APIRouter

from service.web import (
    api_page,
    bench,
    build,
    builds,
    due,
    fit,
    jobs,
    log,
    moving,
    part,
    part_new,
    parts,
    ride,
    sources,
    stand,
)

ROUTERS: tuple[APIRouter, ...] = (
    builds.router,
    build.router,
    fit.router,
    jobs.router,
    ride.router,
    log.router,
    due.router,
    parts.router,
    part_new.router,  # before part.router: /parts/new is no id
    part.router,
    moving.router,
    stand.router,
    bench.router,
    api_page.router,
    sources.router,
)
