using System.Text;
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

    // Token by token: a list of messages words fifty letters, and a document of each would be half of what the page costs. A release that
    // writes otherwise is told from this one by any token that is not expected, so that nobody gets half a letter.
    private static LetterContent Parse(string json, string about)
    {
        var reader = new Utf8JsonReader(Encoding.UTF8.GetBytes(json));
        reader.Read();
        if (reader.TokenType is JsonTokenType.StartObject)
        {
            return JsonSerializer.Deserialize<LetterContent>(ref reader, Options)!;
        }

        Expect(reader.TokenType is JsonTokenType.StartArray);
        var facts = new List<Fact>();
        while (Next(ref reader) is JsonTokenType.String)
        {
            var name = reader.GetString()!;
            Next(ref reader);
            facts.Add(Value(name, ref reader));
        }

        Expect(reader.TokenType is JsonTokenType.StartArray);
        var acts = new List<Act>();
        while (Next(ref reader) is JsonTokenType.String)
        {
            acts.Add(new(reader.GetString()!, Text(ref reader).Replace(About, about, StringComparison.Ordinal)));
        }

        Expect(reader.TokenType is JsonTokenType.EndArray && Next(ref reader) is JsonTokenType.EndArray);
        return new(facts, acts);
    }

    private static Fact Value(string name, ref Utf8JsonReader reader)
    {
        switch (reader.TokenType)
        {
            case JsonTokenType.String:
                return Fact.Of(name, reader.GetString()!);
            case JsonTokenType.Number:
                return Fact.Of(name, reader.GetInt32());
            case JsonTokenType.StartArray:
                var from = Moment(Text(ref reader));
                if (Next(ref reader) is JsonTokenType.EndArray)
                {
                    return Fact.Of(name, from);
                }

                Expect(reader.TokenType is JsonTokenType.String);
                var until = Moment(reader.GetString()!);
                Expect(Next(ref reader) is JsonTokenType.EndArray);
                return new(name) { From = from, Until = until };
            default:
                return JsonSerializer.Deserialize<Fact>(ref reader, Options)! with { Name = name };
        }
    }

    private static JsonTokenType Next(ref Utf8JsonReader reader)
    {
        reader.Read();
        return reader.TokenType;
    }

    private static string Text(ref Utf8JsonReader reader)
    {
        Expect(Next(ref reader) is JsonTokenType.String);
        return reader.GetString()!;
    }

    private static Instant Moment(string text) => InstantPattern.ExtendedIso.Parse(text) is { Success: true } moment ? moment.Value : throw new JsonException("No moment.");

    private static void Expect(bool asWritten)
    {
        if (!asWritten)
        {
            throw new JsonException("Not the form of a letter.");
        }
    }
}
