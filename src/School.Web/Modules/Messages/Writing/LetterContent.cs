using System.Text.Json;
using System.Text.Json.Serialization;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>The part of a letter that has no column of its own, as it is kept (jsonb): facts and acts.</summary>
internal sealed record LetterContent(IReadOnlyList<Fact> Facts, IReadOnlyList<Act> Acts)
{
    private static readonly JsonSerializerOptions Options = new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    }.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);

    public static string Of(Letter letter) => JsonSerializer.Serialize(new LetterContent(letter.Facts, letter.Acts), Options);

    public static Letter Read(Message message)
    {
        var content = JsonSerializer.Deserialize<LetterContent>(message.Content, Options)!;
        return new(message.Kind, message.Key, message.AboutId, new(message.Receiver, message.ReceiverId), content.Facts)
        {
            Acts = content.Acts,
            DueAt = message.DueAt,
            UselessAt = message.UselessAt,
        };
    }
}
