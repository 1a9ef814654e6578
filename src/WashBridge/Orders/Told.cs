namespace WashBridge.Orders;

/// <summary>Something that a person tells; where somebody is logged in, the name may be left out.</summary>
internal interface ITold
{
    string? By { get; }
}

/// <summary>Work on a component, as a person tells it.</summary>
/// <param name="Work"><c>replaced</c>, <c>restored</c> or <c>inspected</c>.</param>
/// <param name="At">When it was done, ISO 8601 with a zone; null: now.</param>
/// <param name="HadFailed">The component had failed.</param>
internal sealed record ToldMaintenance(string? Washer, string? Component, string? Work, string? By, string? Note = null, string? At = null, bool HadFailed = false) : ITold;

/// <summary>What a person orders about an alarm.</summary>
/// <param name="Order"><c>acknowledge</c>, <c>shelve</c>, <c>unshelve</c>, <c>out-of-service</c> or <c>return</c>.</param>
/// <param name="Until">End of shelving, ISO 8601 with a zone.</param>
internal sealed record ToldOrder(string? Washer, string? Alarm, string? Order, string? By, string? Reason = null, string? Until = null) : ITold;

/// <summary>A washer that can be told about.</summary>
internal sealed record KnownWasher(string Id, int Stations);

/// <summary>A decision about a keg.</summary>
/// <param name="Decision"><c>hold</c>, <c>release</c> or <c>rewash</c>.</param>
/// <param name="Verdict">Id of the verdict that the person saw; null: the last one, whatever it is.</param>
internal sealed record ToldDecision(string? Keg, string? Decision, string? By = null, string? Reason = null, string? Verdict = null) : ITold;

/// <summary>A spear pulled, or a swab.</summary>
/// <param name="Kind"><c>spear-pull</c>, <c>swab</c> or <c>titration</c>.</param>
/// <param name="Result"><c>passed</c> or <c>failed</c>.</param>
/// <param name="Found">In the person's words.</param>
/// <param name="Value">What was measured, if anything, in <paramref name="Unit"/>.</param>
/// <param name="Lot">The lot for which the keg was drawn.</param>
/// <param name="At">When, ISO 8601 with a zone; null: now.</param>
internal sealed record ToldInspection(
    string? Keg, string? Kind, string? Result, string? Found, string? By = null, double? Value = null, string? Unit = null, string? Lot = null, string? Reason = null, string? At = null) : ITold;

/// <summary>A titration.</summary>
/// <param name="Bath"><c>caustic</c>, <c>acid</c> or <c>sanitiser</c>.</param>
/// <param name="At">When the sample was taken, ISO 8601 with a zone; null: now.</param>
internal sealed record ToldTitration(string? Washer, string? Bath, double? Strength, string? Unit = "%", string? By = null, string? Method = null, string? Reason = null, string? At = null) : ITold;

/// <summary>A bath made up anew.</summary>
/// <param name="At">When, ISO 8601 with a zone; null: now.</param>
internal sealed record ToldBathChange(string? Washer, string? Bath, string? By = null, string? Reason = null, string? At = null) : ITold;

/// <summary>What of a record is corrected.</summary>
/// <param name="Number">The record.</param>
/// <param name="Value">What the field should say, as text; null: nothing.</param>
internal sealed record ToldCorrection(long? Number, string? Field, string? Value, string? By = null, string? Reason = null) : ITold;

/// <summary>A draw of the kegs of a lot that are to be opened.</summary>
/// <param name="Lot">What the lot is called.</param>
/// <param name="From">Kegs washed from this instant on, ISO 8601 with a zone.</param>
/// <param name="Seed">The same lot and seed draw the same kegs.</param>
/// <param name="Fingerprint">Of the lot that the person saw; null: whatever it is.</param>
/// <param name="Exclude">As of the command <c>sampling</c>, like those that follow.</param>
/// <param name="Kind">What is looked at in each keg: <c>spear-pull</c> or <c>swab</c>; null: spears are pulled.</param>
/// <param name="Steady">Washing ran as usual, and the responsible person agrees with reduced inspection.</param>
internal sealed record ToldDraw(
    string? Lot, string? From, string? Until, string? Seed, string? By = null, string? Reason = null, string? Washer = null, string? Fingerprint = null,
    string? Exclude = null, string? Confidence = null, string? Accept = null, bool Process = false, string? Aql = null, string? Level = null, string? Inspection = null, string? Kind = null, bool Steady = false) : ITold;

/// <summary>What somebody does to a version of a recipe.</summary>
/// <param name="Recipe">Its id.</param>
/// <param name="Version">Null: for a new draft.</param>
/// <param name="Step"><c>draft</c> (begins one or changes it), <c>submit</c>, <c>approve</c>, <c>refuse</c>, <c>withdraw</c> or <c>retire</c>.</param>
/// <param name="Text">For a draft: the whole recipe as YAML.</param>
/// <param name="From">For an approval: not in force before, ISO 8601 with a zone; null: from the last approval on.</param>
/// <param name="Was">For a change: id of the event with the content that the person saw; null: the last one, whatever it is.</param>
internal sealed record ToldRecipe(string? Recipe, int? Version, string? Step, string? By = null, string? Reason = null, string? Text = null, string? From = null, string? Was = null) : ITold;
