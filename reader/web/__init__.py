"""The phone page: routes, templates, and the readers behind them; `app.build` makes the app."""
