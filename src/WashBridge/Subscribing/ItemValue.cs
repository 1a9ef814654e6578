using WashBridge.Polling;

namespace WashBridge.Subscribing;

/// <summary>A value that a server sent for one tag.</summary>
/// <param name="Tag">Index of the tag in the washer's list.</param>
/// <param name="Reading">What it means.</param>
/// <param name="Source">When it changed at its source, on our clock; null where the source tells no time that could be placed.</param>
/// <param name="IsOverflow">The server had to drop values of this item next to this one.</param>
internal readonly record struct ItemValue(int Tag, TagReading Reading, StampBounds? Source, bool IsOverflow = false);
