using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization.Metadata;

namespace School.Web.Platform.Api;

/// <summary>
/// Members that a read tells and a replacement does not take, because only the service sets them. They may come back as they were read,
/// so that what was read can be changed and sent; the document marks them <c>readOnly</c>.
/// </summary>
internal static class ReadOnlyMembers
{
    /// <summary>Members of what was read that what is written lacks.</summary>
    public static IEnumerable<JsonPropertyInfo> Of(JsonSerializerOptions json, Type written, Type read) =>
        json.GetTypeInfo(read).Properties.Where(member => member.Get is not null && Same(json, member, written) is null);

    /// <summary>The member of a type with the same name.</summary>
    public static JsonPropertyInfo? Same(JsonSerializerOptions json, JsonPropertyInfo member, Type of) =>
        json.GetTypeInfo(of) is { Kind: JsonTypeInfoKind.Object } info ? info.Properties.FirstOrDefault(other => other.Name == member.Name) : null;

    /// <summary>Whether there are any, at whatever depth.</summary>
    public static bool Any(JsonSerializerOptions json, Type written, Type read)
    {
        if (Element(json, written) is { } item && Element(json, read) is { } readItem)
        {
            return Any(json, item, readItem);
        }

        return written != read && IsObject(json, written) && IsObject(json, read)
            && (Of(json, written, read).Any()
                || json.GetTypeInfo(written).Properties.Any(member => Same(json, member, read) is { } same && Any(json, member.PropertyType, same.PropertyType)));
    }

    /// <summary>The type of a list's items; null for what is no list.</summary>
    public static Type? Element(JsonSerializerOptions json, Type type) =>
        json.GetTypeInfo(type) is { Kind: JsonTypeInfoKind.Enumerable } info ? info.ElementType : null;

    /// <summary>Whether what was sent holds any of them.</summary>
    public static bool AnySent(JsonSerializerOptions json, JsonNode? sent, Type written, Type read) => sent switch
    {
        JsonArray list when Element(json, written) is { } item && Element(json, read) is { } readItem => list.Any(one => AnySent(json, one, item, readItem)),
        JsonObject one when IsObject(json, written) && IsObject(json, read) => Of(json, written, read).Any(member => one.ContainsKey(member.Name))
            || json.GetTypeInfo(written).Properties.Any(member => Same(json, member, read) is { } same && AnySent(json, one[member.Name], member.PropertyType, same.PropertyType)),
        _ => false,
    };

    /// <summary>Takes the read-only members out of what was sent. Those that are not as they stand now are named by their path.</summary>
    /// <param name="json">How the API writes JSON.</param>
    /// <param name="sent">The body; loses the members.</param>
    /// <param name="now">What a read gives now.</param>
    /// <param name="written">Type of the body.</param>
    /// <param name="read">Type of what a read gives.</param>
    public static IReadOnlyList<string> Strip(JsonSerializerOptions json, JsonObject sent, JsonObject now, Type written, Type read)
    {
        var changed = new List<string>();
        Strip(json, sent, [now], written, read, "", changed);
        return changed;
    }

    private static void Strip(JsonSerializerOptions json, JsonObject sent, IReadOnlyList<JsonObject> now, Type written, Type read, string path, List<string> changed)
    {
        var only = Of(json, written, read).Select(member => member.Name).Where(sent.ContainsKey).ToList();
        // Items of a list may be moved and taken out: an item comes back as it was read when one of the list is alike in all that only the service sets.
        if (only.Count > 0 && !now.Any(one => only.All(name => JsonNode.DeepEquals(sent[name], one[name]))))
        {
            changed.AddRange(only.Where(name => now.Count != 1 || !JsonNode.DeepEquals(sent[name], now[0][name])).Select(name => path + name));
        }

        only.ForEach(name => sent.Remove(name));
        foreach (var member in json.GetTypeInfo(written).Properties)
        {
            if (Same(json, member, read) is not { } same || !Any(json, member.PropertyType, same.PropertyType))
            {
                continue;
            }

            if (sent[member.Name] is JsonObject part)
            {
                Strip(json, part, [.. now.Select(one => one[member.Name]).OfType<JsonObject>()], member.PropertyType, same.PropertyType, $"{path}{member.Name}.", changed);
            }
            else if (sent[member.Name] is JsonArray list && Element(json, member.PropertyType) is { } item && Element(json, same.PropertyType) is { } readItem)
            {
                var known = now.Select(one => one[member.Name]).OfType<JsonArray>().SelectMany(items => items).OfType<JsonObject>().ToList();
                foreach (var (one, at) in list.Select((one, at) => (one, at)))
                {
                    if (one is JsonObject entry)
                    {
                        Strip(json, entry, known, item, readItem, $"{path}{member.Name}[{at}].", changed);
                    }
                }
            }
        }
    }

    private static bool IsObject(JsonSerializerOptions json, Type type) => json.GetTypeInfo(type).Kind is JsonTypeInfoKind.Object;
}
