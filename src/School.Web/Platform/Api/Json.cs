using System.Text.Json;
using System.Text.Json.Serialization;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;
using NodaTime.Text;

namespace School.Web.Platform.Api;

/// <summary>How the API writes JSON: camelCase, instants with offset, dates as YYYY-MM-DD, unknown members refused.</summary>
internal static class Json
{
    public static JsonSerializerOptions Configure(JsonSerializerOptions options)
    {
        options.PropertyNamingPolicy = JsonNamingPolicy.CamelCase;
        options.NumberHandling = JsonNumberHandling.Strict;
        options.AllowDuplicateProperties = false;
        options.UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow;
        options.Converters.Add(new InstantConverter());
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.CamelCase, allowIntegerValues: false));
        options.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);
        return options;
    }

    private sealed class InstantConverter : JsonConverter<Instant>
    {
        public override Instant Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            var text = reader.TokenType == JsonTokenType.String ? reader.GetString()! : "";
            return OffsetDateTimePattern.ExtendedIso.Parse(text) is { Success: true, Value.Year: > 0 and < 9999 } moment
                ? moment.Value.ToInstant()
                : throw new JsonException("Give the moment with its offset, such as 2026-11-25T09:30:00Z or 2026-06-01T09:30:00+01:00.");
        }

        // As InstantPattern.General, which a list of two hundred times would spend much of its time in.
        public override void Write(Utf8JsonWriter writer, Instant value, JsonSerializerOptions options)
        {
            var (date, time) = value.InUtc().LocalDateTime;
            if (date.Year is < 0 or > 9999)
            {
                writer.WriteStringValue(InstantPattern.General.Format(value));
                return;
            }

            Span<byte> text = stackalloc byte[20];
            Pair(text, 0, date.Year / 100);
            Pair(text, 2, date.Year % 100);
            text[4] = (byte)'-';
            Pair(text, 5, date.Month);
            text[7] = (byte)'-';
            Pair(text, 8, date.Day);
            text[10] = (byte)'T';
            Pair(text, 11, time.Hour);
            text[13] = (byte)':';
            Pair(text, 14, time.Minute);
            text[16] = (byte)':';
            Pair(text, 17, time.Second);
            text[19] = (byte)'Z';
            writer.WriteStringValue(text);
        }

        private static void Pair(Span<byte> text, int at, int number)
        {
            text[at] = (byte)('0' + number / 10);
            text[at + 1] = (byte)('0' + number % 10);
        }
    }
}
