"""The living digester: a process model that learns from what a householder sees.

How the parts are used, in the order of a night:

- `fractions.fractions_of(material_id)` and `load.Portion` turn a feeding into model feed.
- `temperature_course.slurry_course_c` gives slurry temperatures.
- `holder` (FloatingDrum, FixedDome, GasBag), `cooking.Burner` and `gas_made.gas_made` turn a look
  at the holder and minutes of burning into gas made since the last look.
- `track.seeded` starts a digester, `track.adopted` one that already runs; `track.track` runs
  DayRecords of many digesters and returns states; `state_blob.pack_state` and `unpack_state` store
  them.
- `forecast.forecast` and `forecast.summary` say what is inside and ahead; `what_if.what_if` tries
  another plan; `capacity.largest_feed` sizes the feed.
- `warnings.judge` raises and clears warnings from a `digester_view.DigesterView`.

Validity: 0.5 to 6 m3, slurry 12 to 38 C, kitchen, market and garden waste with or without dung.
The constants are those of a reference simulator, a few fitted to it, none to real digesters; the
limits of apps.digesters.core.limits are the safety, and the model may only lower them.
"""
