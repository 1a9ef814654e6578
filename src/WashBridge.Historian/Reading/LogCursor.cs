namespace WashBridge.Historian.Reading;

/// <summary>One of the places that hold a part of the log, walked in order; <see cref="LogPage"/> merges them.</summary>
internal abstract class LogCursor
{
    /// <summary>The entry's sequence number; meaningful after a <see cref="MoveNext"/> that returned true.</summary>
    public long Sequence { get; protected set; }

    /// <summary>
    /// Set after a <see cref="MoveNext"/> that returned true: there is no entry, but the cursor has looked at enough for one snapshot.
    /// All up to <see cref="Sequence"/> has been looked at.
    /// </summary>
    public bool IsPause { get; protected set; }

    public abstract bool MoveNext();

    public abstract LogEntry Current { get; }
}
