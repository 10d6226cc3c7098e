"""The page on the bench: a client of the door, as the verbs are; served to this machine's own browser.

* gate    - who is let in, and what every answer carries
* folder  - the one folder that the page may read from and write into
* sitting - what is on the bench, whoever looks at it; one hand works, everybody sees
* takings - what can be taken away: the same bytes as from the command line
* serve   - the server itself, from its link to its end

Nothing is calculated here nor in the browser: every number and every word comes through the door. The libraries that
serve (starlette, uvicorn, websockets) are an extra, `page`.
"""
