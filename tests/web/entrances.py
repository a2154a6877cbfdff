"""What each of six kinds of people gets at each route."""

ROLES = ("nobody", "buyer", "dealer A", "dealer B", "kiosk", "organizer")

# One line an endpoint and method: the status that each of ROLES gets. Ids are dealer A's.
EXPECTED = """
asset                    GET   200 200 200 200 200 200
start.home               GET   401 401 200 200 200 200
start.begin              POST  401 401 303 303 303 303
inspect.show             GET   401 401 200 404 404 200
inspect.answer           POST  401 401 303 404 404 303
inspect.undo             POST  401 401 303 404 404 303
inspect.veil             POST  401 401 303 303 303 303
inspect.claim            GET   401 401 200 404 404 200
inspect.claim            POST  401 401 303 404 404 303
inspect.verdict          GET   401 401 200 404 404 200
making.make              GET   401 401 200 404 404 200
making.make              POST  401 401 303 404 404 303
making.index             GET   401 401 200 404 404 200
making.withdraw          POST  401 401 303 404 404 303
cards.show               GET   200 200 200 200 404 200
cards.paper              GET   200 200 200 200 404 200
cards.face               GET   200 200 200 200 404 200
cards.picture            GET   200 200 200 200 404 200
cards.seal               POST  401 401 303 303 404 303
scan.show                GET   401 401 200 200 404 200
scan.text                POST  401 401 303 303 404 303
scan.picture             POST  401 401 422 422 404 422
papers.show              GET   401 401 200 404 404 200
papers.say               POST  401 401 422 404 404 422
papers.withdraw          POST  401 401 303 404 404 303
papers.undo              POST  401 401 409 404 404 409
references.schema        GET   401 401 200 200 200 200
offline.read             GET   200 200 200 200 200 200
offline.later_pack       GET   200 200 200 200 200 200
writing.add              POST  401 401 404 404 404 400
writing.bring            POST  401 401 404 404 404 400
writing.picture          GET   401 401 404 404 404 404
comparing.show           GET   401 401 404 404 404 200
comparing.before_it_is_kept POST 401 401 404 404 404 400
learning.begin           GET   401 401 404 404 404 200
learning.put             POST  401 401 404 404 404 422
learning.show            GET   401 401 404 404 404 404
learning.start           POST  401 401 404 404 404 404
learning.stop            POST  401 401 404 404 404 404
learning.download        GET   401 401 404 404 404 404
learning.report          GET   401 401 404 404 404 404
learning.keep            POST  401 401 404 404 404 404
handover.hand_over       POST  401 401 404 404 200 404
handover.here            POST  401 401 404 404 204 404
stations.index           GET   401 401 404 404 404 200
stations.live            GET   200 200 200 200 200 200
stations.finish          POST  401 401 404 404 404 404
stations.export          GET   401 401 404 404 404 404
issuer.keys              GET   200 200 200 200 200 200
issuer.keys_as_json      GET   200 200 200 200 200 200
issuer.recalls           GET   200 200 200 200 200 200
issuer.recalls_as_json   GET   200 200 200 200 200 200
reading.show             GET   401 401 200 200 200 200
writing.write            GET   401 401 404 404 404 200
writing.begin            POST  401 401 404 404 404 422
writing.check            POST  401 401 404 404 404 400
writing.keep             POST  401 401 404 404 404 400
references.index         GET   401 401 200 200 200 200
references.show          GET   401 401 200 200 200 200
references.picture       GET   401 401 200 200 200 200
book.index               GET   401 401 200 200 404 200
offline.worker           GET   200 200 200 200 200 200
offline.manifest         GET   200 200 200 200 200 200
offline.model            GET   401 401 200 200 200 200
offline.pack             GET   401 401 200 200 200 200
offline.device_pack      GET   200 200 200 200 200 200
offline.start            GET   200 200 200 200 200 200
offline.book             GET   200 200 200 200 200 200
offline.missing          GET   200 200 200 200 200 200
offline.shell_claim      GET   401 401 200 200 200 200
offline.shell_inspection GET   401 401 200 200 200 200
offline.shell_verdict    GET   401 401 200 200 200 200
offline.shell_card       GET   401 401 200 200 200 200
api.epoch                GET   401 401 200 200 200 200
api.book                 GET   401 401 200 200 404 200
api.get                  GET   401 401 200 404 404 200
api.put                  PUT   401 401 200 404 404 200
api.put_photo            PUT   401 401 200 404 404 200
api.put_card             PUT   401 401 200 404 404 200
health.show              GET   200 200 200 200 200 200
versions.show            GET   401 401 200 404 404 200
versions.bring_back      POST  401 401 303 404 404 303
versions.photo           GET   401 401 200 404 404 200
pairing.ask              GET   200 200 200 200 200 200
pairing.confirm          GET   200 200 200 200 303 200
pairing.pair             POST  404 404 404 404 404 404
organizer.show           GET   200 200 200 200 200 200
organizer.unlock         POST  422 422 422 422 422 422
organizer.change         POST  401 401 404 404 404 422
organizer.lock           POST  401 401 303 303 303 303
devices.index            GET   401 401 404 404 404 200
devices.rename           POST  401 401 404 404 404 303
devices.revoke           POST  401 401 404 404 404 303
devices.offer            POST  401 401 404 404 404 200
devices.begin_book       POST  401 401 404 404 404 409
devices.name_book        POST  401 401 404 404 404 303
"""

TABLE = {
    (endpoint, method): tuple(map(int, statuses))
    for endpoint, method, *statuses in map(str.split, EXPECTED.strip().splitlines())
}
