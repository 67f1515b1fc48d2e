using System.Globalization;
using System.Reflection;
using Microsoft.AspNetCore.Http.Metadata;

namespace School.Web.Platform.Errors;

/// <summary>What is wrong with an address and its headers, compared with the parameters that the endpoint takes.</summary>
internal static class UnreadableAddress
{
    public static FieldErrors FaultsOf(HttpRequest request, RouteValueDictionary? route, Endpoint endpoint)
    {
        var faults = new FieldErrors();
        foreach (var parameter in endpoint.Metadata.OfType<IParameterBindingMetadata>().Where(p => p is { HasBindAsync: false } && IsOfAddress(p, route)))
        {
            var name = NameOf(parameter);
            var values = route?.TryGetValue(name, out var part) == true ? [part?.ToString()]
                : HeaderOf(parameter) is { } header ? request.Headers[header].ToArray()
                : request.Query[name].ToArray();
            if (values.Length == 0)
            {
                faults.When(!parameter.IsOptional && parameter.ParameterInfo.ParameterType.GetElementType() is null, name, UnreadableJson.IsMissing);
                continue;
            }

            var type = parameter.ParameterInfo.ParameterType;
            if (values.Length > 1 && !type.IsArray)
            {
                faults.Add(name, UnreadableJson.IsTwice);
                continue;
            }

            type = type.IsArray ? type.GetElementType()! : type;
            if (values.Any(value => !CanRead(value, type)))
            {
                faults.Add(name, UnreadableJson.FormOf(type));
            }
        }

        return faults;
    }

    /// <summary>Everything with a reading from text, and text itself, unless the endpoint takes it from the body or a service.</summary>
    private static bool IsOfAddress(IParameterBindingMetadata parameter, RouteValueDictionary? route) =>
        !parameter.ParameterInfo.GetCustomAttributes().Any(a => a is IFromBodyMetadata or IFromServiceMetadata)
        && Plain(parameter.ParameterInfo.ParameterType) is var type
        && (type == typeof(string) || type.IsEnum || ReadingOf(type) is not null || route?.ContainsKey(parameter.Name) == true);

    private static string NameOf(IParameterBindingMetadata parameter) =>
        parameter.ParameterInfo.GetCustomAttributes().OfType<IFromQueryMetadata>().FirstOrDefault()?.Name ?? HeaderOf(parameter) ?? parameter.Name;

    private static string? HeaderOf(IParameterBindingMetadata parameter) =>
        parameter.ParameterInfo.GetCustomAttributes().OfType<IFromHeaderMetadata>().FirstOrDefault() is { } header ? header.Name ?? parameter.Name : null;

    private static Type Plain(Type type)
    {
        type = type.IsArray ? type.GetElementType()! : type;
        return Nullable.GetUnderlyingType(type) ?? type;
    }

    private static bool CanRead(string? text, Type type)
    {
        var plain = Plain(type);
        if (plain == typeof(string) || (string.IsNullOrEmpty(text) && plain != type))
        {
            return true;
        }

        if (plain.IsEnum)
        {
            return Enum.TryParse(plain, text, ignoreCase: true, out _);
        }

        return ReadingOf(plain) is not { } read
            || (bool)read.Invoke(null, read.GetParameters().Length == 3 ? [text, CultureInfo.InvariantCulture, null] : [text, null])!;
    }

    /// <summary>Asked of the type itself: what the compiled readers say of it leaves out generic ones.</summary>
    private static MethodInfo? ReadingOf(Type type) =>
        type.GetMethod("TryParse", BindingFlags.Public | BindingFlags.Static, [typeof(string), typeof(IFormatProvider), type.MakeByRefType()])
        ?? type.GetMethod("TryParse", BindingFlags.Public | BindingFlags.Static, [typeof(string), type.MakeByRefType()]);
}
