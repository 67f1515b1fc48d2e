using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;
using NodaTime.Text;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>
/// The part of a letter that has no column of its own, as it is kept (jsonb), which is half of what a letter takes: a list of names and
/// values in turn, then the acts. <c>["lesson", ["2026-03-05T10:00:00Z", "2026-03-05T11:00:00Z"], "pupil", "Tamsin Oakley", "free_hours", 48,
/// ["open_lesson", "/diary/lessons/{about}"]]</c>. A text is a string, a number a number, a time one or two instants, anything else an object.
/// Before that it was an object of facts and acts, which is still read.
/// </summary>
internal sealed record LetterContent(IReadOnlyList<Fact> Facts, IReadOnlyList<Act> Acts)
{
    /// <summary>Stands for the id of what the letter is about; an address of the service never has a brace of its own.</summary>
    private const string About = "{about}";

    private static readonly JsonSerializerOptions Options = new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    }.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);

    public static string Of(Letter letter)
    {
        var id = letter.About.ToString();
        JsonNode?[] acts = [.. letter.Acts.SelectMany(act => (JsonNode?[])[act.Code, act.Path.Replace(id, About, StringComparison.Ordinal)])];
        return new JsonArray([.. letter.Facts.SelectMany(fact => (JsonNode?[])[fact.Name, Value(fact)]), new JsonArray(acts)]).ToJsonString(Options);
    }

    public static Letter Read(Message message)
    {
        var content = Parse(message.Content!, message.AboutId.ToString());
        return new(message.Kind, message.Key, message.AboutId, new(message.Receiver, message.ReceiverId), content.Facts)
        {
            Acts = content.Acts,
            DueAt = message.DueAt,
            UselessAt = message.UselessAt,
        };
    }

    private static JsonNode? Value(Fact fact) => fact switch
    {
        { Text: { } text, From: null, Until: null, Day: null, Number: null, Parts: null } => text,
        { Text: null, From: null, Until: null, Day: null, Number: { } number, Parts: null } => number,
        { Text: null, From: { } from, Until: { } until, Day: null, Number: null, Parts: null } => new JsonArray(Moment(from), Moment(until)),
        { Text: null, From: { } from, Until: null, Day: null, Number: null, Parts: null } => new JsonArray(Moment(from)),
        // The name stands before it already.
        _ => JsonSerializer.SerializeToNode(fact with { Name = "" }, Options),
    };

    private static string Moment(Instant moment) => InstantPattern.ExtendedIso.Format(moment);

    private static LetterContent Parse(string json, string about)
    {
        using var document = JsonDocument.Parse(json);
        if (document.RootElement.ValueKind is JsonValueKind.Object)
        {
            return document.RootElement.Deserialize<LetterContent>(Options)!;
        }

        var all = document.RootElement.EnumerateArray().ToList();
        var facts = all[..^1].Chunk(2).Select(pair => Read(pair[0].GetString()!, pair[1]));
        var acts = all[^1].EnumerateArray().Chunk(2).Select(pair => new Act(pair[0].GetString()!, pair[1].GetString()!.Replace(About, about, StringComparison.Ordinal)));
        return new([.. facts], [.. acts]);
    }

    private static Fact Read(string name, JsonElement value) => value.ValueKind switch
    {
        JsonValueKind.String => Fact.Of(name, value.GetString()!),
        JsonValueKind.Number => Fact.Of(name, value.GetInt32()),
        JsonValueKind.Array when value.GetArrayLength() == 2 => new(name) { From = Moment(value[0]), Until = Moment(value[1]) },
        JsonValueKind.Array => Fact.Of(name, Moment(value[0])),
        _ => value.Deserialize<Fact>(Options)! with { Name = name },
    };

    private static Instant Moment(JsonElement value) => InstantPattern.ExtendedIso.Parse(value.GetString()!).Value;
}
