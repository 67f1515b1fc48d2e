using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Tests.Contract;

/// <summary>Makes values that a schema takes, and values that it does not. What answers told under a member's name is often sent under it again, so that ids, codes and dates hit.</summary>
internal sealed class WireValues(ContractDocument document, Dictionary<string, List<JsonNode>> told)
{
    private const int MostTold = 40;

    /// <summary>Remembers every plain value of an answer under its name; ids of a resource also under its address.</summary>
    public void Learn(JsonNode? node, string name)
    {
        switch (node)
        {
            case JsonObject of:
                foreach (var (member, value) in of)
                {
                    Learn(value, member == "id" && name.Length > 0 ? $"{name}.id" : member);
                }

                break;
            case JsonArray list:
                foreach (var item in list.Take(MostTold))
                {
                    Learn(item, name);
                }

                break;
            case JsonValue value:
                var known = told.TryGetValue(name, out var list2) ? list2 : told[name] = [];
                if (known.Count < MostTold && !known.Any(other => JsonNode.DeepEquals(other, value)))
                {
                    known.Add(value.DeepClone());
                }

                break;
        }
    }

    public JsonNode? Known(Random random, string name) =>
        told.TryGetValue(name, out var known) && known.Count > 0 ? known[random.Next(known.Count)].DeepClone() : null;

    public JsonNode? Valid(Random random, JsonNode schema, string name, int depth = 0)
    {
        var of = document.Resolve(schema);
        if (of["oneOf"] is JsonArray oneOf)
        {
            return Valid(random, oneOf[random.Next(4) == 0 ? 0 : oneOf.Count - 1]!, name, depth);
        }

        if (of["allOf"] is JsonArray allOf)
        {
            return Valid(random, allOf[0]!, name, depth);
        }

        if (of["enum"] is JsonArray choices)
        {
            return choices[random.Next(choices.Count)]?.DeepClone();
        }

        var types = TypesOf(of);
        if (types is ["null"] || (types.Contains("null") && random.Next(4) == 0))
        {
            return null;
        }

        return types.FirstOrDefault(type => type != "null") switch
        {
            "object" => ValidObject(random, of, depth),
            "array" => new JsonArray([.. Enumerable.Range(0, random.Next((int?)of["minItems"] ?? 0, Math.Min((int?)of["maxItems"] ?? 3, Math.Max((int?)of["minItems"] ?? 0, 3)) + 1)).Select(_ => Valid(random, of["items"]!, name, depth + 1))]),
            "boolean" => random.Next(2) == 0,
            "integer" => Known(random, name) is { } known && Fits(of, known) && random.Next(2) == 0 ? known : Whole(random, of),
            "number" => Math.Round(Low(of) + (random.NextDouble() * (High(of) - Low(of))), 4),
            _ => Text(random, of, name),
        };
    }

    /// <summary>A body that the schema does not take, and in what way; null where the schema takes any object.</summary>
    public (JsonNode Body, string How)? Invalid(Random random, JsonNode schema)
    {
        var of = document.Resolve(schema);
        if (Valid(random, schema, "") is not JsonObject body || of["properties"] is not JsonObject properties)
        {
            return null;
        }

        var ways = new List<(string How, Action Do)> { ("an unknown member", () => body["nothingLikeThis"] = 1) };
        foreach (var required in (of["required"] as JsonArray ?? []).Select(name => (string)name!))
        {
            ways.Add(($"{required} is missing", () => body.Remove(required)));
        }

        foreach (var (member, its) in properties.Where(p => (bool?)p.Value!["readOnly"] != true))
        {
            var resolved = document.Resolve(its!);
            var types = TypesOf(resolved);
            if (!MayBeNull(its!))
            {
                ways.Add(($"{member} is null", () => body[member] = null));
            }

            ways.Add(($"{member} is of another type", () => body[member] = types.Contains("array") || resolved["oneOf"] is not null ? 7 : new JsonArray("x")));
            if (resolved["enum"] is not null)
            {
                ways.Add(($"{member} is none of the choices", () => body[member] = "noneOfThese"));
            }

            if ((string?)resolved["format"] is "uuid" or "date" or "date-time")
            {
                ways.Add(($"{member} is not in its form", () => body[member] = "the day after the fair"));
            }

            if ((string?)resolved["pattern"] is not null)
            {
                ways.Add(($"{member} is not in its form", () => body[member] = "half past nine"));
            }

            if ((int?)resolved["maxLength"] is { } longest)
            {
                ways.Add(($"{member} is too long", () => body[member] = new string('x', longest + 1)));
            }

            if (resolved["maximum"] is { } most)
            {
                ways.Add(($"{member} is too large", () => body[member] = (double)most + 1));
            }

            if (resolved["minimum"] is { } least)
            {
                ways.Add(($"{member} is too small", () => body[member] = (double)least - 1));
            }

            if ((int?)resolved["maxItems"] is { } items)
            {
                ways.Add(($"{member} has too many items", () => body[member] = new JsonArray([.. Enumerable.Range(0, items + 1).Select(_ => Valid(random, resolved["items"]!, member))])));
            }

            if ((int?)resolved["minItems"] is > 0)
            {
                ways.Add(($"{member} has too few items", () => body[member] = new JsonArray()));
            }
        }

        var (how, change) = ways[random.Next(ways.Count)];
        change();
        return (body, how);
    }

    private JsonObject ValidObject(Random random, JsonObject of, int depth)
    {
        var body = new JsonObject();
        var required = (of["required"] as JsonArray ?? []).Select(name => (string)name!).ToHashSet();
        foreach (var (member, schema) in (of["properties"] as JsonObject)?.Where(p => (bool?)p.Value!["readOnly"] != true) ?? [])
        {
            if (required.Contains(member) || (depth < 4 && random.Next(3) > 0))
            {
                body[member] = Valid(random, schema!, member, depth + 1);
            }
        }

        return body;
    }

    private JsonNode Text(Random random, JsonObject of, string name)
    {
        if (random.Next(4) > 0 && Known(random, name) is JsonValue known && known.GetValueKind() == JsonValueKind.String && Fits(of, known))
        {
            return known;
        }

        var date = new LocalDate(2026, 3, 2).PlusDays(random.Next(-10, 60)).ToString("uuuu-MM-dd", CultureInfo.InvariantCulture);
        return (string?)of["format"] switch
        {
            "uuid" => RowId.New().ToString(),
            "date" => date,
            "date-time" => $"{date}T{random.Next(24):00}:{random.Next(4) * 15:00}:00Z",
            _ when (string?)of["pattern"] is { } pattern && pattern.StartsWith("^(", StringComparison.Ordinal) && !pattern.Contains('[', StringComparison.Ordinal) => OneOf(random, pattern),
            _ when (string?)of["pattern"] is not null => $"{random.Next(24):00}:{random.Next(12) * 5:00}",
            _ when name is "email" => $"fuzz{random.Next(100_000)}@larkfield.example",
            _ when name is "phone" or "emergencyPhone" => "01632 960014",
            _ => new string('m', random.Next((int?)of["minLength"] ?? 0, Math.Min((int?)of["maxLength"] ?? 30, 30) + 1)),
        };
    }

    // ^(this|that)$
    private static string OneOf(Random random, string pattern)
    {
        var choices = pattern[2..^2].Split('|');
        return System.Text.RegularExpressions.Regex.Unescape(choices[random.Next(choices.Length)]);
    }

    private bool Fits(JsonObject of, JsonNode? value) => value is not null && document.Faults(of, JsonSerializer.SerializeToElement(value)).Count == 0;

    private static JsonNode Whole(Random random, JsonObject of) => random.Next((int)Low(of), (int)High(of) + 1);

    private static double Low(JsonObject of) => of["minimum"] is { } least ? (double)least : 0;

    private static double High(JsonObject of) => of["maximum"] is { } most ? (double)most : Math.Max(120, Low(of) + 120);

    private bool MayBeNull(JsonNode schema)
    {
        var of = document.Resolve(schema);
        return TypesOf(of).Contains("null") || (of["oneOf"] as JsonArray ?? []).Any(one => TypesOf(document.Resolve(one!)).Contains("null"));
    }

    private static string[] TypesOf(JsonObject of) => of["type"] switch
    {
        JsonArray types => [.. types.Select(type => (string)type!)],
        JsonValue type => [(string)type!],
        _ => [],
    };
}
