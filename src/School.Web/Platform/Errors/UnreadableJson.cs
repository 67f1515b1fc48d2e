using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using NodaTime;
using School.Web.Platform.Api;

namespace School.Web.Platform.Errors;

/// <summary>What is wrong with a JSON body, member by member, compared with the type that the endpoint takes.</summary>
internal static class UnreadableJson
{
    public const string NoForm = "This value cannot be read. Look at its form in the API reference at /api.";
    public const string IsMissing = "This is missing.";

    /// <summary>Of a member or a parameter.</summary>
    public const string IsTwice = "This is given twice.";

    public static FieldErrors FaultsOf(JsonElement body, Type type, JsonSerializerOptions options)
    {
        var faults = new FieldErrors();
        if (body.ValueKind != JsonValueKind.Object)
        {
            return faults.Add("body", "Send a JSON object as the body. Look at its form in the API reference at /api.");
        }

        Look(body, type, "", options, faults);
        return faults;
    }

    private static void Look(JsonElement value, Type type, string path, JsonSerializerOptions options, FieldErrors faults)
    {
        var form = options.GetTypeInfo(type);
        switch (form.Kind)
        {
            case JsonTypeInfoKind.Object when value.ValueKind == JsonValueKind.Object:
                LookAtMembers(value, form, path, options, faults);
                return;
            case JsonTypeInfoKind.Enumerable when value.ValueKind == JsonValueKind.Array && form.ElementType is { } element:
                foreach (var (index, item) in value.EnumerateArray().Index())
                {
                    Look(item, element, $"{path}[{index}]", options, faults);
                }

                return;
        }

        try
        {
            value.Deserialize(form);
        }
        catch (JsonException wrong)
        {
            faults.Add(path.Length == 0 ? "body" : path, wrong.Message.StartsWith("Give ", StringComparison.Ordinal) ? wrong.Message.Split(" Path:")[0] : FormOf(type));
        }
    }

    private static void LookAtMembers(JsonElement value, JsonTypeInfo form, string path, JsonSerializerOptions options, FieldErrors faults)
    {
        var members = form.Properties.ToDictionary(member => member.Name, StringComparer.Ordinal);
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (var given in value.EnumerateObject())
        {
            var at = path.Length == 0 ? given.Name : $"{path}.{given.Name}";
            if (!members.TryGetValue(given.Name, out var member))
            {
                faults.Add(at, "There is no such member here. Look at the API reference at /api.");
            }
            else if (!seen.Add(given.Name))
            {
                faults.Add(at, IsTwice);
            }
            else
            {
                Look(given.Value, member.PropertyType, at, options, faults);
            }
        }

        foreach (var missing in form.Properties.Where(member => member.IsRequired && !seen.Contains(member.Name)))
        {
            faults.Add(path.Length == 0 ? missing.Name : $"{path}.{missing.Name}", IsMissing);
        }
    }

    /// <summary>How a value of the type is written.</summary>
    public static string FormOf(Type type) => (Nullable.GetUnderlyingType(type) ?? type) switch
    {
        var plain when plain == typeof(LocalDate) || plain == typeof(QueryDate) => "Give a date such as 2026-11-25.",
        var plain when plain == typeof(LocalTime) => "Give a time such as 09:30:00.",
        var plain when plain == typeof(Guid) => "Give an id as it was told, such as 0199d9f0-0000-7000-8000-000000000000.",
        var plain when plain == typeof(bool) => "Give true or false.",
        var plain when plain == typeof(int) || plain == typeof(long) => "Give a whole number.",
        var plain when plain == typeof(double) || plain == typeof(decimal) => "Give a number.",
        var plain when plain == typeof(string) => "Give a text in quotation marks.",
        { IsEnum: true } plain => $"Give one of: {string.Join(", ", Enum.GetNames(plain).Select(JsonNamingPolicy.CamelCase.ConvertName))}.",
        var plain when QueryWord.EnumOf(plain) is { } words => QueryWord.FormOf(words),
        _ => NoForm,
    };
}
